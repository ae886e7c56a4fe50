"""Where a log's bytes come from: a file, which is only read, or an upload held in memory.

Nothing here blocks or grows without bound: only regular files are opened (a pipe would wait for a writer), the head
is bounded, and the hash is taken in a thread of its own while the parser reads.
"""

from __future__ import annotations

import hashlib
import io
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Final

from analyzer.errors import LogFileError

if TYPE_CHECKING:
    from concurrent.futures import Future

HEAD_BYTES: Final = 65_536
"""What adapters judge a file by."""

MAX_FILE_BYTES: Final = 2_000_000_000
"""Larger files are refused: ten hours of 20 channels at 20 Hz are 150 MB."""

_BLOCK_BYTES: Final = 1 << 20

_HASHED_BYTES: Final = 8 << 20
"""As much as a column of a million rows: once such a block was freed, the usual allocator keeps what the analysis frees
instead of handing it back to the system and asking again, which took a sixth of its time."""

_NO_LOG: Final[tuple[tuple[bytes, str, str], ...]] = (
    (b"\x89PNG\r\n\x1a\n", "a picture (PNG)", ""),
    (b"\xff\xd8\xff", "a picture (JPEG)", ""),
    (b"GIF8", "a picture (GIF)", ""),
    (b"RIFF", "a sound, film or picture (RIFF)", ""),
    (b"%PDF", "a PDF document", "export the table as CSV"),
    (b"PK\x03\x04", "a ZIP archive or a spreadsheet workbook", "unpack it, or save the sheet as CSV"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or word-processor file", "save the sheet as CSV"),
    (b"\x1f\x8b", "compressed (gzip)", "unpack it first"),
    (b"BZh", "compressed (bzip2)", "unpack it first"),
    (b"\xfd7zXZ", "compressed (xz)", "unpack it first"),
    (b"7z\xbc\xaf", "a 7z archive", "unpack it first"),
    (b"\x28\xb5\x2f\xfd", "compressed (zstd)", "unpack it first"),
    (b"PAR1", "a Parquet table", "export it as CSV"),
    (b"SQLite format 3\0", "a database (SQLite)", "a logbook is opened with --logbook"),
    (b"<!DOCTYPE", "a web page (HTML)", "save the table in it as CSV"),
    (b"<!doctype", "a web page (HTML)", "save the table in it as CSV"),
    (b"<html", "a web page (HTML)", "save the table in it as CSV"),
    (b"<?xml", "an XML document", "export it as a table, as CSV"),
    (b"\x7fELF", "a program", ""),
    (b"log,kind,start_s,end_s,", "a table of results that climbledger wrote", "give the log that it was made of"),
)
"""How files begin that are no log, what they are, and what to do about it."""


class Source:
    """One log's bytes.

    Attributes
    ----------
    name : str
        File name without folders.
    label : str
        What messages call it: the path as given, or the upload's name.
    path : Path or None
        The file; None for an upload.
    size : int
        Bytes.
    """

    def __init__(self, label: str, *, path: Path | None = None, data: bytes = b"") -> None:
        self.label = label
        self.path = path
        self._data = data
        self.name = (path.name if path is not None else label.replace("\\", "/").rpartition("/")[2]) or label
        self.size = path.stat().st_size if path is not None else len(data)
        self.head = self.read_head(HEAD_BYTES)

    def open(self) -> io.BufferedReader | io.BytesIO:
        """Open the bytes for reading."""
        return self.path.open("rb") if self.path is not None else io.BytesIO(self._data)

    def read_head(self, count: int) -> bytes:
        """Read the first bytes."""
        with self.open() as stream:
            return stream.read(count)

    def read_tail(self, count: int) -> bytes:
        """Read the last bytes."""
        with self.open() as stream:
            stream.seek(max(0, self.size - count))
            return stream.read(count)

    def count(self, *signs: bytes, start: int = 0) -> list[int]:
        """Count how often each byte occurs from a place on."""
        counts = [0] * len(signs)
        with self.open() as stream:
            stream.seek(start)
            while block := stream.read(_BLOCK_BYTES):
                counts = [have + block.count(sign) for have, sign in zip(counts, signs, strict=True)]
        return counts


def begin_digest(source: Source) -> Future[str]:
    """Begin to take a source's SHA-256, in lower-case hexadecimal, while something else reads it too."""
    return ThreadPoolExecutor(1).submit(_sha256, source)


def _sha256(source: Source) -> str:
    hashed = hashlib.sha256()
    with source.open() as stream:
        while block := stream.read(_HASHED_BYTES):
            hashed.update(block)
    return hashed.hexdigest()


def unreadable(label: str, error: OSError | ValueError) -> LogFileError:
    """Put an operating system's refusal in words."""
    reason = getattr(error, "strerror", None) or str(error)
    remedy = "check its permissions" if isinstance(error, PermissionError) else "check the path"
    return LogFileError(f"cannot be read ({reason})", source=label, remedy=remedy)


def open_source(path: str | Path) -> Source:
    """Look at a file before anything reads it.

    Raises
    ------
    LogFileError
        When it is not there, no regular file, not readable, empty, too large, or plainly no log.
    """
    label = os.fspath(path) or "''"
    try:
        status = os.stat(path)  # noqa: PTH116 - a path with a null byte must not get as far as Path
        if not stat.S_ISREG(status.st_mode):
            kind = "a folder" if stat.S_ISDIR(status.st_mode) else "no regular file (a pipe or a device)"
            raise LogFileError(f"is {kind}", source=label, remedy="give the path of a log file")
        return _checked(Source(label, path=Path(path)))
    except FileNotFoundError as error:
        raise LogFileError("no such file", source=label, remedy="check the path") from error
    except (OSError, ValueError) as error:
        raise unreadable(label, error) from error


def open_bytes(data: bytes, name: str) -> Source:
    """Look at an upload before anything reads it.

    Raises
    ------
    LogFileError
        When it is empty, too large, or plainly no log.
    """
    return _checked(Source(name, data=data))


def _checked(source: Source) -> Source:
    if not source.head.strip(b"\0\r\n\t \xef\xbb\xbf\xff\xfe"):
        raise LogFileError("is empty", source=source.label, remedy="give a log with a header and rows")
    if source.size > MAX_FILE_BYTES:
        size = f"{source.size / 1e9:.1f} GB"
        raise LogFileError(f"is too large ({size})", source=source.label, remedy="cut it into flights")
    for signature, kind, remedy in _NO_LOG:
        if source.head.startswith(signature):
            raise LogFileError(f"is {kind}, no log", source=source.label, remedy=remedy or "give a telemetry log")
    return source
