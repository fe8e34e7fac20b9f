"""Conditional requests and content codings by the tables of RFC 9110 (HTTP Semantics, June 2022), section by section."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.web.conditional import combined, http_date, read_date, takes_gzip, verdict

CHANGED = dt.datetime(2026, 12, 14, 8, 30, 15)  # noqa: DTZ001 - UTC, as the log keeps it
TAG = "xyzzy"

AT, BEFORE, AFTER = (
    "Mon, 14 Dec 2026 08:30:15 GMT",
    "Mon, 14 Dec 2026 08:30:14 GMT",
    "Mon, 14 Dec 2026 08:30:16 GMT",
)


def said(**fields: str) -> str:
    return verdict({name.replace("_", "-"): value for name, value in fields.items()}, TAG, CHANGED)


# --- 8.8.3.2 Comparison ---


@pytest.mark.parametrize(
    ("one", "other", "strong", "weak"),
    [
        # The rows of table 3 in which one of the two is strong, as the server's tags are; and their like of two values.
        ('W/"1"', "1", "no match", "match"),
        ('W/"1"', "2", "no match", "no match"),
        ('"1"', "1", "match", "match"),
        ('"2"', "1", "no match", "no match"),
    ],
)
def test_comparison(one: str, other: str, strong: str, weak: str) -> None:
    assert verdict({"if-match": one}, other, CHANGED) == {"match": "send", "no match": "failed"}[strong]
    assert (
        verdict({"if-none-match": one}, other, CHANGED) == {"match": "not modified", "no match": "send"}[weak]
    )


def test_dates_count_for_nothing_where_nobody_knows_when_it_changed() -> None:
    # 13.1.3 and 13.1.4: MUST ignore where the resource has no date of modification.
    assert verdict({"if-modified-since": AFTER}, TAG, None) == "send"
    assert verdict({"if-unmodified-since": BEFORE}, TAG, None) == "send"
    assert verdict({"if-none-match": f'"{TAG}"'}, TAG, None) == "not modified"
    assert verdict({"if-match": '"other"'}, TAG, None) == "failed"


# --- 13.1.1 to 13.1.4, and 13.2.2 Precedence ---


@pytest.mark.parametrize(
    ("fields", "expected", "source"),
    [
        ({}, "send", "13: without a precondition the request is as any other"),
        # If-Match
        ({"if_match": "*"}, "send", "13.1.1: `*` is false where there is no current representation; there is one"),
        ({"if_match": '"xyzzy"'}, "send", "13.1.1: true if a listed tag matches"),
        ({"if_match": '"r2d2xxxx", "xyzzy", "c3piozzzz"'}, "send", "13.1.1, its example of a list"),
        ({"if_match": '"r2d2xxxx", "c3piozzzz"'}, "failed", "13.1.1: otherwise the condition is false"),
        ({"if_match": 'W/"xyzzy"'}, "failed", "13.1.1: MUST use the strong comparison function"),
        ({"if_match": ""}, "failed", "13.1.1: nothing that is listed matches"),
        ({"if_match": "xyzzy"}, "failed", "8.8.3: an opaque tag is a quoted string"),
        ({"if_match": '"XYZZY"'}, "failed", "8.8.3.2: compared character by character"),
        # If-None-Match
        ({"if_none_match": '"xyzzy"'}, "not modified", "13.1.2: false if a tag matches, then 304 for GET and HEAD"),
        ({"if_none_match": 'W/"xyzzy"'}, "not modified", "13.1.2: MUST use the weak comparison function"),
        ({"if_none_match": 'W/"xyzzy", W/"r2d2xxxx", W/"c3piozzzz"'}, "not modified", "13.1.2, its example"),
        ({"if_none_match": '"r2d2xxxx"  ,\t"xyzzy"'}, "not modified", "5.6.1: whitespace around the commas of a list"),
        ({"if_none_match": ',, "xyzzy",'}, "not modified", "5.6.1.2: MUST accept empty elements"),
        ({"if_none_match": '"a,b", "xyzzy"'}, "not modified", "8.8.3: a comma may stand in an opaque tag"),
        ({"if_none_match": '"xyzzy,r2d2"'}, "send", "8.8.3: and does not part it there"),
        ({"if_none_match": "*"}, "not modified", "13.1.2: `*` is false if there is a current representation"),
        ({"if_none_match": ' \t*'}, "not modified", "5.5: whitespace around a value is none of it"),
        ({"if_none_match": '"*"'}, "send", "8.8.3: in quotes it is a tag like others"),
        ({"if_none_match": '"r2d2xxxx"'}, "send", "13.1.2: otherwise true"),
        ({"if_none_match": ""}, "send", "13.1.2: nothing that is listed matches"),
        # If-Modified-Since
        ({"if_modified_since": AT}, "not modified", "13.1.3: false if the date of change is earlier or equal"),
        ({"if_modified_since": AFTER}, "not modified", "13.1.3: earlier"),
        ({"if_modified_since": BEFORE}, "send", "13.1.3: otherwise true"),
        ({"if_modified_since": "yesterday"}, "send", "13.1.3: MUST ignore what is no valid HTTP-date"),
        ({"if_modified_since": f"{AT}, {AT}"}, "send", "13.1.3: MUST ignore more than one member"),
        ({"if_modified_since": AT.replace("GMT", "+0000")}, "send", "5.6.7: an HTTP-date is in GMT and says so"),
        ({"if_modified_since": AT.replace("GMT", "UTC")}, "send", "5.6.7"),
        ({"if_modified_since": AT.replace("Mon", "MON")}, "send", "5.6.7: HTTP-date is case sensitive"),
        ({"if_modified_since": "Monday, 14-Dec-26 08:30:15 GMT"}, "not modified", "5.6.7: MUST accept rfc850-date"),
        ({"if_modified_since": "Mon Dec 14 08:30:15 2026"}, "not modified", "5.6.7: MUST accept asctime-date"),
        ({"if_modified_since": "Mon Dec 14 08:30:14 2026"}, "send", "5.6.7: which is in GMT too"),
        # If-Unmodified-Since
        ({"if_unmodified_since": AT}, "send", "13.1.4: true if the date of change is earlier or equal"),
        ({"if_unmodified_since": BEFORE}, "failed", "13.1.4: otherwise false"),
        ({"if_unmodified_since": "yesterday"}, "send", "13.1.4: MUST ignore what is no valid HTTP-date"),
        ({"if_unmodified_since": f"{BEFORE}, {BEFORE}"}, "send", "13.1.4: MUST ignore more than one member"),
        # Precedence
        ({"if_match": '"xyzzy"', "if_unmodified_since": BEFORE}, "send", "13.2.2 step 2: only without If-Match"),
        ({"if_match": '"r2d2xxxx"', "if_none_match": '"xyzzy"'}, "failed", "13.2.2 step 1: before If-None-Match"),
        ({"if_match": "*", "if_none_match": "*"}, "not modified", "13.2.2 step 1: if true, go on to step 3"),
        ({"if_unmodified_since": BEFORE, "if_none_match": '"xyzzy"'}, "failed", "13.2.2 step 2: before step 3"),
        ({"if_unmodified_since": AT, "if_none_match": '"xyzzy"'}, "not modified", "13.2.2 step 2: if true, to step 3"),
        ({"if_none_match": '"r2d2xxxx"', "if_modified_since": AT}, "send", "13.2.2 step 4: only without If-None-Match"),
        ({"if_none_match": '"xyzzy"', "if_modified_since": BEFORE}, "not modified", "13.2.2 step 3: whatever the date"),
        ({"if_unmodified_since": AT, "if_modified_since": AT}, "not modified", "13.2.2 steps 2 and 4"),
    ],
)  # fmt: skip
def test_preconditions(fields: dict[str, str], expected: str, source: str) -> None:
    assert said(**fields) == expected, source


@pytest.mark.parametrize(
    ("text", "found", "source"),
    [
        ("Sun, 06 Nov 1994 08:49:37 GMT", "1994-11-06 08:49:37", "5.6.7, its example of IMF-fixdate"),
        ("Sunday, 06-Nov-94 08:49:37 GMT", "1994-11-06 08:49:37", "5.6.7, its example of the form of RFC 850"),
        ("Sun Nov  6 08:49:37 1994", "1994-11-06 08:49:37", "5.6.7, its example of asctime"),
        ("Tuesday, 14-Dec-76 00:00:00 GMT", "2076-12-14 00:00:00", "5.6.7: not more than 50 years ahead of 2026"),
        ("Wednesday, 14-Dec-77 00:00:00 GMT", "1977-12-14 00:00:00", "5.6.7: MUST be the year before with those digits"),
        ("Sat, 30 Jun 2012 23:59:60 GMT", "2012-06-30 23:59:59", "5.6.7: second = 2DIGIT; 60 is a leap second"),
        ("Wed, 30 Feb 2026 08:00:00 GMT", None, "there is no such day"),
        ("Mon, 14 Dec 2026 24:00:00 GMT", None, "5.6.7: hours from 00 to 23"),
        ("Mon, 14 Dec 2026 8:30:15 GMT", None, "5.6.7: hour = 2DIGIT"),
        ("Mon, 14 Dec 2026  08:30:15 GMT", None, "5.6.7: MUST NOT have other whitespace"),
        ("Mon, 14 Dec 0000 08:30:15 GMT", None, "there is no such year"),
        ("Mon, 14 Dec ２０２６ 08:30:15 GMT", None, "5.6.7: DIGIT is of ASCII"),
        ("1765701015", None, "5.6.7: no number of seconds"),
        ("", None, "5.6.7"),
    ],
)  # fmt: skip
def test_dates(text: str, found: str | None, source: str) -> None:
    assert read_date(text, 2026) == (dt.datetime.fromisoformat(found) if found else None), source


@given(st.datetimes(min_value=dt.datetime(1000, 1, 1), max_value=dt.datetime(9999, 1, 1)))  # noqa: DTZ001
def test_a_date_that_was_written_is_read(moment: dt.datetime) -> None:
    second = moment.replace(microsecond=0)
    assert read_date(http_date(second), 2026) == second


# --- 12.5.3 Accept-Encoding ---


@pytest.mark.parametrize(
    ("header", "gzip", "source"),
    [
        ("", False, "12.5.3: an empty field means that none is wanted"),
        ("gzip", True, "12.5.3: listed"),
        ("compress, gzip", True, "12.5.3, its first example"),
        ("*", True, "12.5.3, its third example: any that is not listed"),
        ("compress;q=0.5, gzip;q=1.0", True, "12.5.3, its fourth example"),
        ("gzip;q=1.0, identity; q=0.5, *;q=0", True, "12.5.3, its fifth example"),
        ("gzip;q=0", False, "12.5.3: a weight of 0 is not acceptable"),
        ("gzip;q=0.000", False, "12.4.2: up to three digits"),
        ("*;q=0", False, "12.5.3: * is whatever is not listed"),
        ("gzip;q=0, *", False, "12.5.3: what is listed is not what * stands for"),
        ("*;q=0, gzip", True, "12.5.3: nor this way round"),
        ("gzip;q=0.001", True, "12.4.2: the least preferred is not unacceptable"),
        ("GZip", True, "8.4.1: codings are case-insensitive"),
        ("x-gzip", True, "8.4.1.3: equivalent to gzip"),
        ("deflate, br", False, "12.5.3: not listed"),
        ("identity", False, "12.5.3: not listed"),
        ("identity;q=1, gzip;q=0.5", False, "12.5.3: the highest non-zero weight is preferred"),
        ("identity;q=0.5, gzip;q=0.5", True, "12.5.3: equal weights leave the choice to the server"),
        ("gzip;q=1.001", False, "12.4.2: a weight is at most 1; what is none is passed over"),
        ("gzip;q=abc", False, "12.4.2"),
        ("gzip ;q=1", True, "12.4.2: weight = OWS \";\" OWS"),
        (", ,gzip,", True, "5.6.1.2: empty elements"),
        ("gzipped", False, "5.6.2: a coding is a whole token"),
    ],
)  # fmt: skip
def test_codings(header: str, gzip: bool, source: str) -> None:
    assert takes_gzip(header) is gzip, source


# --- 5.3 Field Order ---


def test_lines_of_one_name_are_one_list() -> None:
    """RFC 9110, section 5.2 and 5.3: field lines of one name are one value, in their order, with commas between."""
    lines = [(b"if-none-match", b'"a"'), (b"host", b"fen.example"), (b"if-none-match", b'W/"xyzzy"')]
    fields = combined(lines)
    assert fields == {"if-none-match": '"a", W/"xyzzy"', "host": "fen.example"}
    assert verdict(fields, TAG, CHANGED) == "not modified"


# --- whatever comes ---

FIELD = st.one_of(
    st.text(st.characters(max_codepoint=255), max_size=80),
    st.text('W/"*, xyz\\;q=0.1GMT:', max_size=40),
    st.sampled_from([AT, BEFORE, AFTER, '"xyzzy"', 'W/"xyzzy"', "*"]),
)
NAMES = ["if-match", "if-none-match", "if-modified-since", "if-unmodified-since"]


@given(st.dictionaries(st.sampled_from(NAMES), FIELD))
def test_nothing_makes_it_fail(fields: dict[str, str]) -> None:
    said = verdict(fields, TAG, CHANGED)
    # What was not asked for does not happen (RFC 9110, section 13.2.2).
    if said == "failed":
        assert fields.keys() & {"if-match", "if-unmodified-since"}
    if said == "not modified":
        assert fields.keys() & {"if-none-match", "if-modified-since"}


@given(st.text(st.characters(max_codepoint=255), max_size=80))
def test_any_accept_encoding_is_read(header: str) -> None:
    assert takes_gzip(header) in (True, False)
    # A list is of the same meaning in any order, as long as nothing is named twice.
    parts = header.split(",")
    names = [part.partition(";")[0].strip().lower() for part in parts]
    if len(set(names)) == len(names):
        assert takes_gzip(",".join(reversed(parts))) is takes_gzip(header)


OPAQUE = st.text(
    st.one_of(
        st.just("!"),
        st.characters(min_codepoint=0x23, max_codepoint=0x7E),
        st.characters(min_codepoint=0x80, max_codepoint=0xFF),
    ),
    max_size=12,
)
"""etagc of RFC 9110, section 8.8.3: any visible letter but the double quote."""


@given(st.lists(st.tuples(st.booleans(), OPAQUE), min_size=1, max_size=6), OPAQUE)
def test_a_list_of_tags_is_compared_as_the_table_says(listed: list[tuple[bool, str]], own: str) -> None:
    """RFC 9110, section 8.8.3.2: strong where neither is weak and the letters are the same; weak by the letters alone."""
    header = ", ".join(f'{"W/" if weak else ""}"{opaque}"' for weak, opaque in listed)
    strong = any(not weak and opaque == own for weak, opaque in listed)
    either = any(opaque == own for _, opaque in listed)
    assert verdict({"if-match": header}, own, CHANGED) == ("send" if strong else "failed")
    assert verdict({"if-none-match": header}, own, CHANGED) == ("not modified" if either else "send")
