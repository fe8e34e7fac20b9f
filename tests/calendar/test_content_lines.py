"""Text to content lines and back (RFC 5545, sections 3.1 and 3.3.11), with icalendar as the reader."""

import unicodedata

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from icalendar import Calendar
from support.depth import examples

from scheduler.calendar.text import LINE_OCTETS, escape, fold, text_line

# What is hard: the escaped characters, every line break that Python or Unicode knows, controls, wide characters.
HARD = st.sampled_from(
    [
        *("\\", ";", ",", ":", '"', "\\n", "\\N", "\\,", "\t", " ", "X" * 74, "\\" * 9),
        *("\r\n", "\r", "\n", "\v", "\f", "\x1c", "\x85", "\u2028", "\u2029"),
        *("\x00", "\x07", "\x7f", "\x9f", "\ufeff", "\ud800", "\udfff"),
        *("é", "–", "漢", "🐢", "e\u0301", "\u200d", "🐢" * 20),
        *("BEGIN:VALARM", "END:VEVENT"),
    ]
)
TEXTS = st.lists(HARD | st.characters(), max_size=60).map("".join)


def clean(text):
    """Return what a reader should find: every line break as LF, no other control but TAB, no lone surrogate, no BOM.

    Section 3.3.11 knows one intentional line break; 3.1 forbids the controls. Line breaks are those of str.splitlines,
    which the Python library reference lists.
    """
    text = "\n".join((text + "end").splitlines()).removesuffix("end")
    return "".join(
        c for c in text if c in "\t\n" or (unicodedata.category(c) not in ("Cc", "Cs") and c != "\ufeff")
    )


def read_back(*lines):
    """Return the entry that icalendar reads out of a calendar with these content lines."""
    head = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VEVENT\r\n"
    calendar = b"".join([head, *lines, b"END:VEVENT\r\nEND:VCALENDAR\r\n"])
    (entry,) = Calendar.from_ical(calendar).walk("VEVENT")
    assert entry.errors == []
    assert len(Calendar.from_ical(calendar).walk()) == 2, "text made a component of its own"
    return entry


@settings(max_examples=examples(300))
@given(TEXTS)
@example("a\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:forged")
@example("\\n is no line break, \n is")
def test_any_text_comes_back_as_it_was(text):
    entry = read_back(text_line("SUMMARY", text), text_line("DESCRIPTION", text))
    assert str(entry["SUMMARY"]) == str(entry["DESCRIPTION"]) == clean(text)
    assert set(entry) == {"SUMMARY", "DESCRIPTION"}


@settings(max_examples=examples(300))
@given(TEXTS, TEXTS)
def test_categories_keep_their_commas(one, two):
    """CATEGORIES is a list of texts (RFC 5545, section 3.8.1.2): a comma inside one must not make two."""
    entry = read_back(fold(f"CATEGORIES:{escape(one)},{escape(two)}"))
    assert [str(category) for category in entry["CATEGORIES"].cats] == [clean(one), clean(two)]


@settings(max_examples=examples(300))
@given(TEXTS)
@example("x" * 62 + "\\" * 30)  # the 75th octet is the first of two backslashes
@example("x" * 61 + "🐢" * 20)
def test_lines_are_short_and_cut_where_nothing_is_torn(text):
    made = text_line("DESCRIPTION", text)
    assert made.endswith(b"\r\n")
    lines = made[:-2].split(b"\r\n")
    for number, line in enumerate(lines):
        assert len(line) <= 75, "section 3.1: 75 octets without the line break"
        assert number == 0 or line.startswith(b" ")
        line.decode("utf-8")  # section 3.1 warns of cuts inside a UTF-8 sequence
        assert (len(line) - len(line.rstrip(b"\\"))) % 2 == 0, "cut between a backslash and what it escapes"
        assert not any(byte < 0x20 and byte != 0x09 for byte in line), "section 3.1: CONTROL is not allowed"
    assert b"".join([lines[0], *(line[1:] for line in lines[1:])]).decode() == f"DESCRIPTION:{escape(text)}"


@pytest.mark.parametrize(
    ("text", "written", "source"),
    [
        ("plain", "plain", ""),
        (
            "Project XYZ Final Review\nConference Room - 3B\nCome Prepared.",
            "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared.",
            "the example of section 3.3.11",
        ),
        ("a,b;c\\d", "a\\,b\\;c\\\\d", "ESCAPED-CHAR, section 3.3.11"),
        ("a:b", "a:b", "a colon SHALL NOT be escaped, section 3.3.11"),
        ('"a"', '"a"', 'text = *(TSAFE-CHAR / ":" / DQUOTE / ESCAPED-CHAR), section 3.3.11'),
        ("a\r\nb\rc\nd", "a\\nb\\nc\\nd", "an intentional line break is \\n, section 3.3.11"),
        ("a\tb", "a\tb", "HTAB is no CONTROL, section 3.1"),
        ("a\x00\x07\x7fb", "ab", "CONTROL, section 3.1"),
    ],
)
def test_how_text_is_escaped(text, written, source):
    assert escape(text) == written, source


@pytest.mark.parametrize("octets", range(LINE_OCTETS - 3, LINE_OCTETS + 4))
@pytest.mark.parametrize("last", ["x", "é", "漢", "🐢"])
def test_folding_at_the_very_limit(octets, last):
    width = len(last.encode())
    line = "X:" + "y" * (octets - 2 - width) + last
    made = fold(line)
    assert made.count(b"\r\n") == (1 if octets <= 75 else 2)
    assert made.replace(b"\r\n ", b"") == line.encode() + b"\r\n"
