"""Descriptions of any size for the benchmarks, all of invented enclosures."""

from __future__ import annotations

SPECIES = ("Trachemys scripta", "Chrysemys picta", "Sternotherus odoratus", "Graptemys geographica")


def site(enclosures: int, *, keepers: int = 0) -> str:
    """Return the TOML of a site: every enclosure fully equipped, sizes and dates in a fixed pattern."""
    parts = [
        '[site]\nname = "Bench"\ntime_zone = "Europe/Dublin"\nlatitude = 53.3\nroom_low = "16 degC"\nroom_high = "26 degC"\n'
        '[site.tap_water]\ndisinfectant = "chloramine"\nnitrate = "8 mg/L"\nph = 7.6\ncold = "10 degC"\nhot = "55 degC"\n'
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
covered = {"true" if n % 5 else "false"}
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
power = "39 W"
installed = 2026-11-{1 + n % 20:02}
hours_a_day = {12 if n % 3 else '"daylight"'}
uvi = 2.{n % 10}
uvi_at = "30 cm"
basking_distance = "{30 + n % 5} cm"
[[enclosure.resident]]
name = "Animal {n}"
species = "{SPECIES[n % 4]}"
sex = "female"
carapace = "{6 + n % 7} cm"
born = 2024-05-{1 + n % 28:02}
arrived = 2026-10-{1 + n % 28:02}
[enclosure.feed]
grams = {2 + n % 3}
protein = 0.4
pack = "500 g"
opened = 2026-10-{1 + n % 28:02}
"""
