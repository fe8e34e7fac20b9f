"""The kinds of value a description knows: quantities, spans, times, zones, names, rules, as pydantic types.

Each turns the keeper's text into a plain value, or raises an error with the two halves of a problem: what was
found and expected, and what to write instead.
"""

from scheduler.description.fields.amounts import (
    Area,
    Concentration,
    Flow,
    Interval,
    Length,
    Mass,
    Power,
    Temperature,
    Volume,
    Window,
)
from scheduler.description.fields.contacts import (
    Duties,
    Duty,
    Email,
    Phone,
    address_trouble,
    contacts_or_text,
)
from scheduler.description.fields.mistake import wrong
from scheduler.description.fields.text import MOST_NAME, MOST_SHORT, Id, LogUrl, Name, ShortName, Skill, Text
from scheduler.description.fields.times import (
    FIRST_DAY,
    LAST_DAY,
    WEEKDAY_NAMES,
    AwaySpan,
    Cycled,
    Day,
    LocaleTag,
    Minutes,
    Part,
    RuleText,
    TimeOfDay,
    Weekday,
    WeekdayName,
    Weekdays,
    Zone,
)

__all__ = [
    "FIRST_DAY",
    "LAST_DAY",
    "MOST_NAME",
    "MOST_SHORT",
    "WEEKDAY_NAMES",
    "Area",
    "AwaySpan",
    "Concentration",
    "Cycled",
    "Day",
    "Duties",
    "Duty",
    "Email",
    "Flow",
    "Id",
    "Interval",
    "Length",
    "LocaleTag",
    "LogUrl",
    "Mass",
    "Minutes",
    "Name",
    "Part",
    "Phone",
    "Power",
    "RuleText",
    "ShortName",
    "Skill",
    "Temperature",
    "Text",
    "TimeOfDay",
    "Volume",
    "Weekday",
    "WeekdayName",
    "Weekdays",
    "Window",
    "Zone",
    "address_trouble",
    "contacts_or_text",
    "wrong",
]
