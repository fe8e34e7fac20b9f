"""The description: a TOML text to a Site, with every mistake of the keeper's in one run.

Decisions
---------

What if
    What if changes the data before they are loaded, so that the changed description passes every check of
    the format, and nothing in the core knows of it. Problems are told without lines, since the values do
    not stand in the file.

pydantic at the edge, our own wording
    All mistakes of a file in one run: when values are wrong they are taken out (or a stand-in put where one
    is required) and the rest is validated again, so that checks across values still run; what rests on a
    wrong value is not reported. `problems.py` words everything.

Ids
    Names that differ but give one slug get distinct ids by a hash of the name, whatever their order. Equal
    names (but for case) are a mistake, since nobody could address them.

`driftwood`, `[enclosure.job] rule/on/part/note`, `extra_job.part/can`
    `driftwood`, `[enclosure.job] rule/on/part/note`, `extra_job.part/can` are additions to the format: a
    job can only be left out, moved in the day, or asked of the right person if the description can say so.
"""

from scheduler.description.loader import load
from scheduler.description.site import Enclosure, Keeper, Resident, Site

__all__ = ["Enclosure", "Keeper", "Resident", "Site", "load"]
