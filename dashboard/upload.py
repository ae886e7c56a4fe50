"""A dropped file as the browser sends it."""

from __future__ import annotations

import base64
import binascii

from analyzer.errors import InputError, LogFileError
from dashboard.security import MAX_UPLOAD_BYTES


def decode_upload(name: str, contents: str) -> bytes:
    """Bytes of a browser's data URL ("data:text/csv;base64,...").

    Raises
    ------
    InputError
        When the file is larger than the dashboard takes, or did not arrive whole.
    """
    _, comma, payload = contents.partition(",")
    if len(payload) * 3 // 4 > MAX_UPLOAD_BYTES:
        raise InputError(
            f"{len(payload) * 3 / 4e6:.0f} MB is more than the {MAX_UPLOAD_BYTES / 1e6:.0f} MB that the page takes",
            source=name,
            remedy="analyse it with: climbledger analyze FILE --report OUT.html",
        )
    try:
        return base64.b64decode(payload, validate=True) if comma else b""
    except binascii.Error as error:
        raise LogFileError("did not arrive whole", source=name, remedy="drop it again") from error
