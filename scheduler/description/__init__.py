"""The description: a TOML text to a Site, with every mistake of the keeper's in one run."""

from scheduler.description.loader import load
from scheduler.description.site import Enclosure, Keeper, Resident, Site

__all__ = ["Enclosure", "Keeper", "Resident", "Site", "load"]
