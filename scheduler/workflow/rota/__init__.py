"""Rotas of a site: made from plan and log, published, and changed by hand.

Decisions
---------

One rule for publishing anew
    One rule for publishing anew (`workflow/rota/publication.py`): nothing is published, two weeks are left,
    something due has no place, another one, or nobody any more. Pages, feeds and syncs publish by it and
    show what was published; `rota` and `export` show what these would. The published rota names what nobody
    takes, so that it is not tried again as long as nobody has room, and who was absent, so that the next
    look does not give it back. A page is made from that rota, not from plan and rows beside each other.

Who gave what
    Who gave what stands in the published rota beside who has what (`Published.given`), as long as that is
    so; earlier versions pass over it and forget it with the next rota that they publish. Given back, it is
    as if it never went.
"""
