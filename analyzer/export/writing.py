"""Writing a document to where the user asked for it: whole or not at all.

A file is written beside its target under a temporary name and then moved into place, so that a full disk or a
power cut never leaves half a document, nor destroys the one that was there before.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
import sys
from pathlib import Path
from typing import Final

from analyzer.errors import OutputError

STDOUT: Final = "-"
"""The target that means standard output."""


def write_document(target: str | Path, content: str | bytes) -> None:
    """Write a document; text in UTF-8.

    Parameters
    ----------
    target : str or Path
        A file, or "-" for standard output. A symbolic link is followed; a device or a pipe is written to directly.
    content : str or bytes
        The whole document.

    Raises
    ------
    OutputError
        When the target is a folder or read-only, its folder does not exist, or writing fails; the old file is then
        untouched.
    BrokenPipeError
        When standard output's reader has gone.
    """
    data = content.encode("utf-8", errors="replace") if isinstance(content, str) else content
    if str(target) == STDOUT:
        _write_to_stdout(data)
        return
    try:
        path = Path(target)
        if path.is_dir():
            raise OutputError("is a folder", source=str(target), remedy="give the name of a file")
        if path.exists() and not os.access(path, os.W_OK):  # moving another into its place would ask the folder only
            raise OutputError("is read-only", source=str(target), remedy="give another name, or allow writing to it")
        if path.exists() and not path.is_file():
            path.write_bytes(data)
        else:
            _replace_file(Path(os.path.realpath(path)), data)
    except FileNotFoundError as error:
        raise OutputError(
            "cannot be written: its folder does not exist", source=str(target), remedy="create the folder first"
        ) from error
    except BrokenPipeError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        remedy = "check the name, its permissions and the free space"
        raise OutputError(f"cannot be written ({reason})", source=str(target), remedy=remedy) from error


def stdout_error(error: OSError) -> OutputError:
    """Say why standard output cannot be written."""
    reason = error.strerror or error
    return OutputError(
        f"cannot be written ({reason})", source="standard output", remedy="check the free space where it goes"
    )


def _write_to_stdout(data: bytes) -> None:
    binary = getattr(sys.stdout, "buffer", None)
    try:
        if binary is None:  # a test's or an editor's text-only stream
            sys.stdout.write(data.decode("utf-8"))
        else:
            sys.stdout.flush()
            binary.write(data)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        raise stdout_error(error) from error


def _replace_file(path: Path, data: bytes) -> None:
    """Write to a temporary file in the same folder, flush it to the disk, move it into place."""
    temporary = path.with_name(f".{path.name[:50]}.{secrets.token_hex(4)}.part")
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            temporary.chmod(stat.S_IMODE(path.stat().st_mode))
        temporary.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
