"""The encoding of a text log, from its first bytes."""

from __future__ import annotations

import codecs
from typing import Final

_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
"""Byte order marks; UTF-32's little-endian mark begins with UTF-16's, so it is asked first."""

WESTERN: Final = "cp1252"
"""Windows' superset of Latin-1."""

OTHER_CODE_PAGES: Final = ("cp1250", "cp1251", "cp932", "gb18030")
"""Of spreadsheets in central Europe, Russia, Japan and China; only the words tell them from the western one."""

MIN_ZERO_SHARE: Final = 0.3
"""Share of zero bytes in one half of the byte pairs that makes UTF-16 of a log without a mark: telemetry is digits."""

MAX_CONTROL_SHARE: Final = 0.01
"""Share of control characters up to which bytes are text: a damaged cell passes, a program does not."""

_TEXT_CONTROLS: Final = frozenset(b"\t\n\r\x0c\x1a")
_CONTROLS: Final = bytes(code for code in range(1, 32) if code not in _TEXT_CONTROLS)


def find_encoding(head: bytes) -> tuple[str, int]:
    """Tell the encoding of a text, and the length of its byte order mark.

    Parameters
    ----------
    head : bytes
        The first bytes, the more the better.

    Returns
    -------
    encoding : str
        "utf-8", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be" or, when it is none of these, `WESTERN`.
    mark_bytes : int
        Bytes to skip.
    """
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            return encoding, len(mark)
    even, odd = head[0::2].count(0), head[1::2].count(0)
    pairs = max(1, len(head) // 2)
    if odd / pairs > MIN_ZERO_SHARE > 4 * even / pairs:
        return "utf-16-le", 0
    if even / pairs > MIN_ZERO_SHARE > 4 * odd / pairs:
        return "utf-16-be", 0
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return WESTERN, 0
    return "utf-8", 0


def decode(head: bytes) -> str:
    """Decode the first bytes of a text; what does not decode is replaced."""
    encoding, mark = find_encoding(head)
    return head[mark:].decode(encoding, errors="replace")


def is_text(head: bytes) -> bool:
    """Whether bytes read as text: hardly any control characters (zeros apart, which a full card leaves behind)."""
    text = decode(head).rstrip("\0").encode("utf-8", errors="replace")
    controls = len(text) - len(text.translate(None, _CONTROLS))
    return controls <= MAX_CONTROL_SHARE * len(text) and text.count(0) < 0.5 * max(1, len(text))
