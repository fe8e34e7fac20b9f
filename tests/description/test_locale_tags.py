"""Tags of locales: BCP 47 in any letters, and what to write in the place of what is none."""

import pytest

from scheduler.description import load
from scheduler.description.locale_tags import LocaleError, check_tag
from scheduler.errors import DescriptionError
from scheduler.species import load_sheets


@pytest.mark.parametrize(
    ("text", "tag"),
    [
        ("de-AT", "de-AT"),
        # Letters do not tell tags apart; RFC 5646, section 2.1.1 recommends some.
        ("DE-at", "de-AT"),
        ("zh-hant-tw", "zh-Hant-TW"),
        ("en", "en"),
        ("es-419", "es-419"),
        ("ca-ES-valencia", "ca-ES-valencia"),
    ],
)
def test_a_tag_is_taken_in_any_letters(text: str, tag: str) -> None:
    assert check_tag(text) == tag


@pytest.mark.parametrize(
    ("text", "write"),
    [
        ("en_GB", "en-GB"),
        ("de_AT.UTF-8", "de-AT"),
        ("de-AT-u-hc-h12", "de-AT"),
        ("sv-SE ", "sv-SE"),
        ("German", "de-DE"),
        ("english", "en-US"),
        ("en-UK", "en-GB"),
        ("en-USA", "en-US"),
        ("dd-AT", "de-AT"),
        # A region that there is, without a form of this language of its own in CLDR.
        ("de-US", "de-DE"),
        ("", "de-AT"),
        ("und", "de-AT"),
        ("x-klingon", "de-AT"),
        ("no\x00NO" * 40, "de-AT"),
    ],
)
def test_what_is_no_tag_is_told_with_what_to_write(text: str, write: str) -> None:
    with pytest.raises(LocaleError) as refused:
        check_tag(text)
    assert refused.value.hint == f'write "{write}"'
    # What is to be written is a tag.
    assert check_tag(write) == write


def test_a_mistake_stands_with_the_others_of_a_description() -> None:
    text = '[site]\nname = "Fen"\nlocale = "en_GB"\nunits = "imperial"\n[[enclosure]]\nname = "Sedge"\n'
    with pytest.raises(DescriptionError) as refused:
        load(text, load_sheets())
    told = [(p.where, p.message, p.hint) for p in refused.value.problems]
    assert told[0] == (
        "site.locale",
        'found "en_GB"; expected the tag of a locale (BCP 47): a language, and mostly a region',
        'write "en-GB"',
    )
    assert told[1][0] == "site.units"


def test_without_its_locale_a_site_is_otherwise_the_same() -> None:
    text = '[site]\nname = "Fen"\nlocale = "de-at"\n[[enclosure]]\nname = "Sedge"\n'
    site = load(text, load_sheets())
    plain = site.in_plain_formats()
    assert (site.settings.locale, plain.settings.locale) == ("de-AT", None)
    assert plain.settings == load(text.replace('locale = "de-at"\n', ""), load_sheets()).settings
    assert plain.enclosures == site.enclosures
    assert plain.in_plain_formats() is plain
