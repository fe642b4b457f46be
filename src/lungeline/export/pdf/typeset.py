"""The only place that knows the typesetter: content in, the bytes of a file out.

Content reaches the templates as data, never as source: what a person typed is printed, not obeyed. Type comes
from this package's own folder, nothing from the machine or the network, so that one content gives one file.
"""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any, Literal

from lungeline.errors import InputError, MissingError

try:
    import typst
except ImportError:
    raise MissingError(
        where="pdf",
        given="no typst",
        allowed="typst installed",
        do='Install it: pip install "lungeline[pdf]".',
    ) from None

Form = Literal["pdf", "png"]
_FOLDER = Path(__file__).parent
TEMPLATES = _FOLDER / "templates"
FONTS = _FOLDER / "fonts"
_DOCUMENT = TEMPLATES / "document.typ"
_TIME_SHOWN = "%Y-%m-%d %H:%M"
PIXELS_PER_INCH = 144.0


def typeset(content: Mapping[str, Any], *, printed_at: datetime | None = None) -> bytes:
    """Return a PDF of the content. printed_at: stands in its foot and in the file, None for nowhere."""
    pages = _typeset(content, printed_at, "pdf")
    return pages[0]


def typeset_images(
    content: Mapping[str, Any],
    *,
    printed_at: datetime | None = None,
    pixels_per_inch: float = PIXELS_PER_INCH,
) -> list[bytes]:
    """Return a PNG of each page, to look at on a screen."""
    return _typeset(content, printed_at, "png", pixels_per_inch)


def _typeset(
    content: Mapping[str, Any], printed_at: datetime | None, form: Form, pixels_per_inch: float | None = None
) -> list[bytes]:
    told = {**content, "printed": printed_at.strftime(_TIME_SHOWN) if printed_at else ""}
    compiler = typst.Compiler(
        input=_DOCUMENT,
        root=TEMPLATES,
        font_paths=_fonts(),
        ignore_system_fonts=True,
        sys_inputs={"content": json.dumps(told, ensure_ascii=False, allow_nan=False)},
    )
    try:
        made = compiler.compile(format=form, ppi=pixels_per_inch, timestamp=_stamp(printed_at))
    except typst.TypstError as error:
        raise InputError(
            where="pdf", given=error.message, allowed="content that can be set in type",
            do="Print the plan with --json instead, and report this.",
        ) from error  # fmt: skip
    return [made] if isinstance(made, bytes) else list(made or ())


def _stamp(printed_at: datetime | None) -> datetime | None:
    """Return the time for the file: as the clock showed it, whatever zone the machine is in."""
    return printed_at.replace(tzinfo=UTC, microsecond=0) if printed_at else None


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONTS)])
