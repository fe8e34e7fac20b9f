"""Links as codes to be scanned (QR, ISO/IEC 18004): as a picture, and on a terminal."""

from __future__ import annotations

import io


def code_svg(text: str) -> str:
    """Return a code as an SVG picture that stands in a page."""
    import segno

    return str(
        segno.make(text, error="m", micro=False).svg_inline(
            scale=4, border=4, dark="#000", light="#fff", title="Code to scan"
        )
    )


def code_file(text: str) -> bytes:
    """Return a code as an SVG file."""
    import segno

    stream = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        stream, kind="svg", scale=6, border=4, dark="#000", light="#fff", title="Code to scan"
    )
    return stream.getvalue()


def code_lines(text: str) -> str:
    """Return a code as lines of blocks for a terminal, dark on light whatever its colours."""
    import segno

    stream = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(stream, border=2, compact=True)
    return stream.getvalue()
