"""A description set up from a browser, where a server is begun and there is none.

Decisions
---------

What is typed is held by the process, each browser's apart
    A draft has an address of its own below the secret, and a form sends a step of it and nothing else. So
    there are no hidden fields to be tampered with, a reload and the browser's way back show what was typed,
    and two browsers at once do not mix: the second one to write is told that the file is there, and keeps
    all that it has. The price is that drafts end with the process; what is written is in the file.

The set-up answers on the machine itself alone
    Whoever has its address can write a file, so the connection has to come from the loopback, arrive there,
    and name it as its host: a proxy that hands others on, and a name that somebody has pointed to 127.0.0.1,
    find nothing. Anything that is not right is answered by 404, as a wrong secret is.

Phones are let in by a second socket, and not by beginning anew
    The one who says yes waits for the answer on the loopback, so that socket has to stay. A second one, at
    the same port of the one address that was named, is added to the running server (`server.py`): both
    share limits, caches and the deadline for slow clients, it is bound before anything is said, so that
    failure is told on the same page, and nobody has to find the process to begin it again. Listening
    everywhere would let in who was never named: another network, a virtual machine.
"""
