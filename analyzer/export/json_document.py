"""JSON documents: one record, indented for people, or on one line for programs."""

from __future__ import annotations

import json

from analyzer.export.serializer import to_plain


def json_document(record: object) -> str:
    """The record as an indented document with a final newline, in UTF-8 characters."""
    return json.dumps(to_plain(record), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def json_line(record: object) -> str:
    """The record on one line with a final newline.

    ASCII only, so that no pipe and no terminal can damage it.
    """
    return json.dumps(to_plain(record), ensure_ascii=True, allow_nan=False) + "\n"
