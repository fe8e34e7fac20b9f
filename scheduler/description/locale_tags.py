"""Tags of locales as keepers write them: which are none, and which was meant."""

from __future__ import annotations

import re

from scheduler.errors import clip, nearest
from scheduler.locales import parsed

# RFC 5646, section 2.1: language, script, region, variants. Extensions say nothing that a site needs.
_TAG = re.compile(
    r"[a-z]{2,3}(-[a-z]{4})?(-(?P<region>[a-z]{2}|[0-9]{3}))?(-([a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*", re.I
)
_EXAMPLE = "de-AT"


class LocaleError(ValueError):
    """A text that is no tag of a locale; `message` says what was found, `hint` what to write."""

    def __init__(self, text: str, said: str, write: str) -> None:
        """Keep the two halves apart, so that the description can place them in a problem."""
        self.message, self.hint = f"found {clip(text)}{said}", f'write "{write}"'
        super().__init__(self.message)


def check_tag(text: str) -> str:
    """Return the tag of a locale, de-AT, in the letters that BCP 47 recommends.

    LocaleError where it is none, or unknown.
    """
    found = _TAG.fullmatch(text) if len(text) <= 35 else None
    if found is None:
        said = "; expected the tag of a locale (BCP 47): a language, and mostly a region"
        raise LocaleError(text, said, _meant(text))
    try:
        locale = parsed(text)
    except LookupError:
        raise LocaleError(text, ", a locale that CLDR does not know", _meant(text)) from None
    region = found["region"]
    if region is not None and locale.territory != region.upper():
        said = f": no region has the code {region.upper()}"
        raise LocaleError(text, said, f"{locale.language}-{locale.territory}")
    return _recommended(text)


def _recommended(tag: str) -> str:
    """Return a tag in the letters of RFC 5646, section 2.1.1: zh-Hant-TW."""
    first, *rest = tag.lower().split("-")
    return "-".join([first, *(p.upper() if len(p) == 2 else p.title() if len(p) == 4 else p for p in rest)])


def _meant(text: str) -> str:
    """Return the tag to write in the place of a text: without what is not of it, or the nearest that CLDR
    knows."""
    from babel.core import Locale, get_global
    from babel.localedata import locale_identifiers

    # What Unix adds, "de_AT.UTF-8", and an extension, "de-AT-u-hc-h12", tell nothing here.
    plain = re.split(r"[.@]", text[:60].strip().replace("_", "-"), maxsplit=1)[0]
    plain = re.sub(r"(?i)-[a-z0-9]-.*", "", plain)
    if plain != text and _is_known(plain):
        return _recommended(plain)
    named = {name.lower(): code for code, name in Locale("en").languages.items()}
    language, _, region = plain.lower().partition("-")
    language = named.get(language, language)
    tags = [name.replace("_", "-") for name in locale_identifiers()]
    same = [tag for tag in tags if tag.split("-")[0] == language]
    home = f"{language}-{get_global('likely_subtags').get(language, '').rpartition('_')[2]}"
    regions = {
        "",
        *(r.lower() for r in (*get_global("territory_currencies"), *get_global("territory_aliases"))),
    }
    if region in regions and _is_known(home):
        # A language without its region, or one that CLDR does not know it of: that of where it is at home.
        return home
    return (region and (nearest(plain, same) or nearest(plain, tags))) or _EXAMPLE


def _is_known(text: str) -> bool:
    found = _TAG.fullmatch(text)
    try:
        return found is not None and (parsed(text).territory or "") == (found["region"] or "").upper()
    except LookupError:
        return False
