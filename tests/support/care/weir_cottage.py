"""A tank with everything that the review can compute, for the tests of figures and of findings."""

FULL = """
[site]
name = "Weir Cottage"
time_zone = "Europe/Dublin"
latitude = 53.3
room_low = "15 degC"
room_high = "26 degC"
[site.tap_water]
disinfectant = "chloramine"
disinfectant_level = "1.5 mg/L"
nitrate = "8 mg/L"
alkalinity = "120 mg/L"
ph = 7.6
cold = "10 degC"
hot = "55 degC"

[[enclosure]]
name = "Burbot"
length = "150 cm"
width = "60 cm"
height = "60 cm"
water_depth = "45 cm"
covered = false
set_up = 2026-03-02
cycled = true
[enclosure.substrate]
kind = "sand"
depth = "3 cm"
[enclosure.filter]
flow = "2400 L/h"
media_area = "3 m2"
[[enclosure.heater]]
power = "500 W"
set_to = "25 degC"
[[enclosure.lamp]]
kind = "T5 HO tube"
power = "54 W"
installed = 2026-09-12
hours_a_day = 12
uvi = 2.8
uvi_at = "30 cm"
basking_distance = "30 cm"
[[enclosure.lamp]]
kind = "heat"
power = "75 W"
hours_a_day = 10
[[enclosure.resident]]
name = "Marigold"
species = "Trachemys scripta"
sex = "female"
carapace = "16 cm"
shell_width = "12.5 cm"
mass = "620 g"
born = 2022-06-01
arrived = 2026-03-20
[enclosure.feed]
protein = 0.40
grams = 4
meals_a_week = 5
pack = "500 g"
opened = 2026-11-01
[enclosure.conditioner]
treats = "2000 L"
opened = 2026-11-01
"""
