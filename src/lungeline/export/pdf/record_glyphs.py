"""Text as it can be printed: microgram spelled; a sign the type lacks by its name, never an empty box."""

import struct
import unicodedata
from functools import cache
from typing import Any

from lungeline.export.pdf.typeset import FONTS
from lungeline.plan.drugs.labels import printed

_TABLE = struct.Struct(">4sLLL")
_UNICODE = {(3, 10), (0, 4), (0, 6), (3, 1), (0, 3)}  # platform and encoding whose codes are Unicode's
_PICTURE = "So"
_UNSEEN = frozenset({"Cf", "Mn", "Me"})  # joins and variants: nothing is lost where they are not drawn
_LAYOUT = frozenset("\n\t\u200b")


def printable(content: Any) -> Any:  # noqa: ANN401  whatever JSON can hold
    """Return content with every text as the type can print it.

    >>> printable(["Star \U0001f434", "\u9a6c"])
    ['Star [horse face]', '[U+9A6C]']
    """
    if isinstance(content, str):
        return content if content.isascii() else "".join(map(_sign, printed(content)))
    if isinstance(content, dict):
        return {key: printable(value) for key, value in content.items()}
    if isinstance(content, list):
        return [printable(each) for each in content]
    return content


@cache
def _sign(sign: str) -> str:
    if sign.isascii() or sign in _LAYOUT or ord(sign) in _known():
        return sign
    category = unicodedata.category(sign)
    if category in _UNSEEN:
        return ""
    name = unicodedata.name(sign, "") if category == _PICTURE else ""
    return f"[{name.lower() or f'U+{ord(sign):04X}'}]"


@cache
def _known() -> frozenset[int]:
    """Return the codes that every face of the type has."""
    faces = [_codes(path.read_bytes()) for path in sorted(FONTS.glob("*.ttf"))]
    return frozenset.intersection(*faces)


def _codes(face: bytes) -> frozenset[int]:
    """Return the codes a TrueType file has signs for, by its table of characters (cmap, ISO/IEC 14496-22)."""
    (tables,) = struct.unpack_from(">H", face, 4)
    rows = (_TABLE.unpack_from(face, 12 + 16 * place) for place in range(tables))
    start = next(offset for tag, _, offset, _ in rows if tag == b"cmap")
    (count,) = struct.unpack_from(">H", face, start + 2)
    found: set[int] = set()
    for place in range(count):
        platform, encoding, offset = struct.unpack_from(">HHL", face, start + 4 + 8 * place)
        if (platform, encoding) in _UNICODE:
            found |= _codes_of(face, start + offset)
    return frozenset(found)


def _codes_of(face: bytes, at: int) -> set[int]:
    stretches: list[tuple[int, int]] = []
    (form,) = struct.unpack_from(">H", face, at)
    if form == 4:  # noqa: PLR2004  the standard's number of this form: stretches of 16-bit codes
        (twice,) = struct.unpack_from(">H", face, at + 6)
        many = f">{twice // 2}H"
        lasts, firsts = (struct.unpack_from(many, face, at + start) for start in (14, 16 + twice))
        stretches = list(zip(firsts, lasts, strict=True))
    elif form == 12:  # noqa: PLR2004  likewise: stretches of 32-bit codes
        (groups,) = struct.unpack_from(">L", face, at + 12)
        stretches = [struct.unpack_from(">LL", face, at + 16 + 12 * place)[:2] for place in range(groups)]
    return {code for first, last in stretches for code in range(first, last + 1)}
