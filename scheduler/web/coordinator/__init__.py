"""The pages of a keeper who answers for a whole site: the site today, an enclosure, an animal, the rota.

Decisions
---------

One secret for the own round and for the site
    The pages of a coordinator stand beside the round at the same address, `/round/SECRET/site`: so whatever a
    round can do they can, with the same forms, seals and refusals. A form says from which page it is, and
    leads back there.

Everybody's sheet for one enclosure
    The page of an enclosure shows the rows of the round as if nobody were looking in particular: whoever
    answers for the site ticks off what anybody did, and is named as who recorded it.
"""
