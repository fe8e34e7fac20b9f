"""Space: each code against its own rows, the strictest of them, and the size that a given water still suffices for."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scheduler.handbook import space
from scheduler.handbook.space import Animal


def group(*lengths, width=None):
    """Return animals of these carapace lengths in cm, their shells as wide as `width` times the carapace."""
    return [Animal(cm, None if width is None else width * cm) for cm in lengths]


def asked(code, animals):
    """Return what one code asks for."""
    (found,) = [r for r in space.requirements(animals) if r.code == code]
    return found


# --- The codes one by one ---------------------------------------------------------------------------------------

# Directive 2010/63/EU, Annex III B, table 10.1: carapace, animals, cm2 of water, depth in cm
EU = [
    (3, 1, 600, 10), (5, 1, 600, 10), (5.1, 1, 1600, 15), (5, 4, 900, 10),
    (10, 1, 1600, 15), (10, 2, 1900, 15), (10.1, 1, 3500, 20), (15, 1, 3500, 20), (15, 5, 5900, 20),
    (15.1, 1, 6000, 30), (20, 1, 6000, 30), (20, 3, 8400, 30), (20.1, 1, 10_000, 35), (25, 1, 10_000, 35),
    (30, 2, 12_000, 35), (30.1, 1, 20_000, 40), (31, 1, 20_000, 40), (31, 3, 30_000, 40),
]  # fmt: skip


@pytest.mark.parametrize(("carapace", "count", "area", "depth"), EU)
def test_the_rows_of_the_european_table(carapace, count, area, depth):
    found = asked("EU 2010/63", group(*[carapace] * count))
    assert (found.area_cm2, found.depth_cm) == (area, depth)
    assert (found.kind, found.source.status, found.unsaid) == ("code", "published", "")


def test_the_longest_animal_decides_on_the_row_and_each_more_counts():
    # Table 10.1: row 15-20 for the animal of 18 cm, and 1200 cm2 for each of two smaller ones.
    assert asked("EU 2010/63", group(6, 18, 11)).area_cm2 == 6000 + 2 * 1200


@pytest.mark.parametrize(
    ("carapace", "sides"),
    # Expert report of 10 January 1997: 5 and 2.5 carapace lengths, as restated in VG Gelsenkirchen 16 L 1319/11
    [(15, (75, 37.5)), (20, (100, 50))],
)
def test_the_german_report_asks_for_sides(carapace, sides):
    found = asked("Germany 1997", group(carapace))
    assert (found.length_cm, found.width_cm) == sides
    assert found.area_cm2 == sides[0] * sides[1]
    assert found.source.status == "published"


@pytest.mark.parametrize(
    ("count", "times"),
    # 10 % for the 3rd and the 4th, 20 % from the 5th on: read for tortoises only (for water turtles from memory)
    [(1, 1.0), (2, 1.0), (3, 1.1), (4, 1.2), (5, 1.4), (6, 1.6), (10, 2.4)],
)
def test_the_german_report_adds_for_groups(count, times):
    found = asked("Germany 1997", group(*[20] * count))
    assert found.area_cm2 == pytest.approx(5000 * times)
    assert found.source.status == ("published" if count == 1 else "from memory")


def test_the_german_depth_is_twice_the_shell_width():
    # Expert report of 10 January 1997
    assert asked("Germany 1997", [Animal(20, 14.5)]).depth_cm == 29
    assert asked("Germany 1997", [Animal(20, 14.5), Animal(19, 15)]).depth_cm == 30
    # A small animal that nobody measured does not hide the large one; a large one does hide the small one.
    assert asked("Germany 1997", [Animal(20, 14.5), Animal(8, None)]).depth_cm == 29
    unmeasured = asked("Germany 1997", [Animal(20, None), Animal(8, 6)])
    assert unmeasured.depth_cm is None
    assert unmeasured.unsaid == "depth is twice the shell's width: measure shell_width"


@pytest.mark.parametrize("count", [1, 2])
def test_new_south_wales(count):
    # Department of Education, Animals in Schools: 12.5 L2, no side under 1.5 L, mean depth 1.5 L, up to 2 animals
    found = asked("New South Wales", group(*[20] * count))
    assert (found.area_cm2, found.depth_cm, found.width_cm) == (5000, 30, 30)
    assert found.kind == "code"


def test_new_south_wales_gives_no_area_for_three():
    # The code speaks of up to two; depth and side are kept, since a third animal cannot make less do (house rule).
    found = asked("New South Wales", group(20, 20, 20))
    assert (found.area_cm2, found.depth_cm, found.width_cm) == (None, 30, 30)
    assert found.unsaid == "the area for more than two animals could not be read"


ADVICE = [
    # code, animals, area, depth, sides, litres, source
    ("Queensland practice", group(20), 6000, 40, (100, 60), None, "housing table of a Queensland practice: 5, 3 and 2 CL"),
    ("Barnard 1996", group(20), 6000, None, (100, 60), None, "Barnard 1996: 5 by 3 lengths; its depth is left out"),
    ("Boyer", group(20, width=0.75), math.pi / 4 * 20 * 15 * 4, None, (None, None), None, "Boyer: shells on 25 % of the floor"),
    ("Boyer", group(20), None, None, (None, None), None, "Boyer, without the width of the shell"),
    ("SPCA New Zealand", group(25), None, None, (None, None), 400, "SPCA New Zealand: 80 L for 5 cm"),
    ("SPCA New Zealand", group(20), None, None, (None, None), 320, "SPCA New Zealand: 80 L for 5 cm"),
    ("SPCA New Zealand", group(25, 10), None, None, (None, None), 560, "SPCA New Zealand, for each animal"),
]  # fmt: skip


@pytest.mark.parametrize(("code", "animals", "area", "depth", "sides", "litres", "source"), ADVICE)
def test_advice(code, animals, area, depth, sides, litres, source):
    found = asked(code, animals)
    got = (found.area_cm2, found.depth_cm, found.length_cm, found.width_cm, found.litres)
    assert got == pytest.approx((area, depth, *sides, litres)), source
    assert found.kind == "advice"


def test_advice_that_leaves_something_out_says_so():
    shallow = "its depth of half a length fits hatchlings and the sick alone and is left out"
    assert asked("Barnard 1996", group(20)).unsaid == shallow
    two = asked("Barnard 1996", group(20, 20))
    assert (two.area_cm2, two.unsaid) == (None, f"{shallow}; says nothing of more than one animal")
    assert asked("Queensland practice", group(20, 20)).unsaid == "does not say for how many animals"
    assert (
        asked("Boyer", [Animal(20, 15), Animal(9, None)]).unsaid
        == "needs the shells' widths: measure shell_width"
    )
    assert asked("SPCA New Zealand", group(7)).litres == pytest.approx(112)  # in proportion: house value


def test_shells_of_a_group_cover_a_quarter_of_the_floor_at_most():
    # Boyer. The axes of an ellipse of area pi a b are half its length and width: written out on its own.
    animals = [Animal(20, 15), Animal(12, 9), Animal(9, 8)]
    shells = sum(math.pi * (a.carapace_cm / 2) * (a.shell_width_cm / 2) for a in animals)
    assert asked("Boyer", animals).area_cm2 * 0.25 == pytest.approx(shells)


# --- All of them together ---------------------------------------------------------------------------------------


def test_the_review_of_one_animal_as_a_whole():
    table = [(r.code, r.kind, r.area_cm2, r.depth_cm, r.litres) for r in space.requirements([Animal(20, 15)])]
    assert table == [
        ("EU 2010/63", "code", 6000, 30, None),
        ("Queensland practice", "advice", 6000, 40, None),
        ("Barnard 1996", "advice", 6000, None, None),
        ("Germany 1997", "code", 5000, 30, None),
        ("New South Wales", "code", 5000, 30, None),
        ("Boyer", "advice", pytest.approx(942.48, abs=0.01), None, None),
        ("SPCA New Zealand", "advice", None, None, 320),
    ]


def test_no_code_asks_for_nothing():
    assert space.least_area([]) is None
    assert space.least_depth([]) is None


STRICTEST = [
    # animals, code and area, code and depth: worked by hand from the rows above
    (group(20), ("EU 2010/63", 6000), ("EU 2010/63", 30)),
    (group(25), ("EU 2010/63", 10_000), ("New South Wales", 37.5)),
    (group(30), ("Germany 1997", 11_250), ("New South Wales", 45)),
    (group(20, 20, 20), ("EU 2010/63", 8400), ("EU 2010/63", 30)),
    (group(25, 25, 25), ("EU 2010/63", 14_000), ("New South Wales", 37.5)),
    # A shell of 4 x 3.6 cm, at most a quarter of 45 cm2: advice, like the 240 cm2 of 15 L2.
    (group(4, width=0.9), ("EU 2010/63", 600), ("EU 2010/63", 10)),
    (group(25, width=0.8), ("EU 2010/63", 10_000), ("Germany 1997", 40)),
]


@pytest.mark.parametrize(("animals", "area", "depth"), STRICTEST)
def test_the_strictest_code(animals, area, depth):
    found = space.requirements(animals)
    largest, deepest = space.least_area(found), space.least_depth(found)
    assert (largest.code, largest.area_cm2) == area
    assert (deepest.code, deepest.depth_cm) == depth


lengths = st.floats(2, 60)
groups = st.lists(st.builds(Animal, lengths, st.one_of(st.none(), st.floats(2, 45))), min_size=1, max_size=8)


@given(groups)
def test_the_list_is_sorted_and_the_strictest_code_meets_all_codes(animals):
    found = space.requirements(animals)
    areas = [-1 if r.area_cm2 is None else r.area_cm2 for r in found]
    assert areas == sorted(areas, reverse=True)
    largest, deepest = space.least_area(found), space.least_depth(found)
    codes = [r for r in found if r.kind == "code"]
    assert largest in codes
    assert deepest in codes
    assert all(r.area_cm2 is None or r.area_cm2 <= largest.area_cm2 for r in codes)
    assert all(r.depth_cm is None or r.depth_cm <= deepest.depth_cm for r in codes)


@given(groups, lengths, st.randoms(use_true_random=False))
def test_another_animal_never_needs_less_room_and_order_does_not_matter(animals, carapace, random):
    more = [*animals, Animal(carapace, None)]
    assert (
        space.least_area(space.requirements(more)).area_cm2
        >= space.least_area(space.requirements(animals)).area_cm2
    )
    shuffled = list(more)
    random.shuffle(shuffled)
    assert space.requirements(shuffled) == space.requirements(more)


@given(groups, st.floats(1, 2))
def test_longer_animals_never_need_less(animals, factor):
    grown = [Animal(a.carapace_cm * factor, a.shell_width_cm) for a in animals]
    before = {r.code: r for r in space.requirements(animals)}
    for after in space.requirements(grown):
        for field in ("area_cm2", "depth_cm", "length_cm", "width_cm", "litres"):
            one, other = getattr(before[after.code], field), getattr(after, field)
            assert (one is None) == (other is None)
            assert one is None or one <= other


# --- The size that the water suffices for -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("area", "depth", "count", "carapace"),
    [
        # 100 x 50 cm: EU row 10-15 (3500 cm2) fits, row 15-20 (6000 cm2) does not.
        (5000, 40, 1, 15.0),
        # 100 x 60 cm: EU 6000 cm2 up to 20 cm, 12.5 L2 up to 21.9; 28 cm of depth is too little for the row's 30.
        (6000, 30, 1, 20.0), (6000, 28, 1, 15.0), (6000, 22.5, 1, 15.0), (6000, 22.4, 1, 14.9),
        # 1.5 L of depth: 20 cm allow 13.3 cm.
        (6000, 20, 1, 13.3),
        # 35.4 / 1.5 is 23.6, and must not end up a tenth lower for want of a digit.
        (20_000, 35.4, 1, 23.6),
        # Three: 8400 cm2 in the row 15-20; a square centimetre less, and the row 10-15 is left.
        (8400, 40, 3, 20.0), (8399, 40, 3, 15.0),
        # 12.5 L2: 11 000 cm2 allow 29.66 cm; six need 1.6 times as much, and 20 000 cm2 in the row 20-30.
        (11_000, 60, 1, 29.6), (20_000, 60, 6, 30.0),
        (20_000, 60, 1, 40.0), (19_999, 60, 1, 30.0), (20_000, 39.9, 1, 26.6),
        # Nothing fits: under the first row of 600 cm2 and 10 cm.
        (599, 40, 1, 0.0), (5000, 9.9, 1, 0.0), (600, 10, 1, 5.0), (0, 0, 1, 0.0), (-1, -1, 1, 0.0),
        (699, 10, 2, 0.0), (700, 10, 2, 5.0),
    ],
)  # fmt: skip
def test_the_largest_carapace_that_fits(area, depth, count, carapace):
    assert space.largest_carapace(area, depth, count) == carapace


def suffices(area, depth, carapace, count):
    """Tell whether the codes that need the carapace alone are met, asking the requirements themselves."""
    found = space.requirements(group(*[carapace] * count))
    return (
        space.least_area(found).area_cm2 <= area + 1e-6 and space.least_depth(found).depth_cm <= depth + 1e-6
    )


@given(st.floats(1, 60_000), st.floats(1, 150), st.integers(1, 12))
@example(59999.99999999999, 46.0, 9)
def test_the_largest_carapace_fits_and_a_millimetre_more_does_not(area, depth, count):
    largest = space.largest_carapace(area, depth, count)
    assert largest == round(largest, 1)
    assert largest == 0 or suffices(area, depth, largest, count)
    assert not suffices(area, depth, largest + 0.1 + 1e-6, count)


@given(st.floats(1, 60_000), st.floats(1, 150), st.integers(1, 12), st.floats(0, 20_000), st.floats(0, 50))
def test_more_water_never_fits_less_and_more_animals_never_more(area, depth, count, wider, deeper):
    fits = space.largest_carapace(area, depth, count)
    assert space.largest_carapace(area + wider, depth + deeper, count) >= fits
    assert space.largest_carapace(area, depth, count + 1) <= fits


# --- Nonsense is refused ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: space.requirements([]), "there are no animals to find room for"),
        (lambda: space.requirements(group(20, 0)), "the carapace must be above 0 cm, not 0"),
        (lambda: space.requirements(group(math.nan)), "the carapace must be above 0 cm, not nan"),
        (lambda: space.requirements(group(math.inf)), "the carapace must be above 0 cm, not inf"),
        (lambda: space.requirements([Animal(20, -1)]), "the shell width must be above 0 cm, not -1"),
        (lambda: space.largest_carapace(5000, 40, 0), "a group has at least 1 animal, not 0"),
        (lambda: space.largest_carapace(math.nan, 40, 1), "the area and the depth of the water must be finite numbers"),
        (lambda: space.largest_carapace(5000, math.inf, 1), "the area and the depth of the water must be finite numbers"),
    ],
)  # fmt: skip
def test_impossible_animals_are_refused(ask, message):
    with pytest.raises(ValueError) as refused:
        ask()
    assert str(refused.value) == message
