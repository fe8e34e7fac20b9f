"""Descriptions of any size for the benchmarks, all of invented enclosures."""

from __future__ import annotations

SPECIES = ("Trachemys scripta", "Chrysemys picta", "Sternotherus odoratus", "Graptemys geographica")


def site(enclosures: int, *, keepers: int = 0) -> str:
    """Return the TOML of a site: every enclosure fully equipped, sizes and dates in a fixed pattern."""
    parts = [
        '[site]\nname = "Bench"\ntime_zone = "Europe/Dublin"\n[site.tap_water]\ncold = "10 degC"\nhot = "55 degC"\n'
    ]
    for k in range(keepers):
        days = ", ".join(f'"{d}"' for d in (("Sat", "Sun", "Wed"), ("Mon", "Thu"), ("Tue", "Fri"))[k % 3])
        parts.append(f'[[keeper]]\nname = "Keeper {k}"\nweekdays = [{days}]\nminutes = 120\n')
    parts += [_enclosure(n) for n in range(enclosures)]
    return "".join(parts)


def _enclosure(n: int) -> str:
    return f"""
[[enclosure]]
name = "Tank {n:05}"
room = "room {n % 7}"
length = "{100 + n % 90} cm"
width = "{45 + n % 20} cm"
height = "60 cm"
water_depth = "{30 + n % 20} cm"
set_up = 2026-{1 + n % 9:02}-{1 + n % 28:02}
cycled = true
[enclosure.substrate]
kind = "river stones"
depth = "4 cm"
[enclosure.filter]
kind = "canister"
flow = "2400 L/h"
media_trays = 4
[[enclosure.heater]]
power = "300 W"
set_to = "25 degC"
[[enclosure.lamp]]
kind = "T5 HO tube"
installed = 2026-11-{1 + n % 20:02}
hours_a_day = 12
[[enclosure.resident]]
name = "Animal {n}"
species = "{SPECIES[n % 4]}"
sex = "female"
born = 2024-05-{1 + n % 28:02}
arrived = 2026-10-{1 + n % 28:02}
[enclosure.feed]
grams = {3 + n % 5}
"""
