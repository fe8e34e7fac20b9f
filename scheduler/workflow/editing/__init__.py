"""The description changed by a command: an animal that moves, comes or goes, an enclosure, a name.

File and log, together or not at all
    A change is in the description's text and in the log. It is written down whole in a hidden file beside
    the description before anything is done (`journal`): whoever is killed over it leaves that file behind,
    and the next command that reads the description does the rest, each step of which may be done twice. The
    text is put in its place first and the log after it, since a text can be put back and an entry cannot be
    unsaid.

Why the description and not the log
    Where an animal lives is read from the description alone, by the plan as by whoever looks into the file.
    Entries say when it came there and who wrote that; a plan does not need them. So a description that was
    changed in an editor is as good as one that a command has changed.

Nothing vanishes
    An animal that left keeps its table, with `departed`; an enclosure that is retired keeps its own. What was
    measured is under their ids, and `Site.on` leaves them out of whatever is planned.

Taken back as text
    What an entry changed in the text is kept as the lines that were there before (`description.patches`), and
    `undo` puts them back where they still stand. Where they do not, it is refused: what somebody wrote since
    is worth more.
"""
