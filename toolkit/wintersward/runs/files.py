"""Files written whole or not at all, and what is in them."""

from __future__ import annotations

import hashlib
import json
import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import Any

__all__ = ["read_json", "sha256", "write_json", "write_whole"]


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file under another name first, so that nobody ever sees half of it.

    Parameters
    ----------
    path : Path
        The file; its folder is made where it is missing.
    content : str or bytes
        Text is written as UTF-8 with the line ends that it has.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    # A name of its own, since another process may write the same file just now.
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        try:
            part.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
        except OSError as error:
            # A full disk is told without the name of the file.
            raise OSError(error.errno, error.strerror, str(path)) from error
        os.replace(part, path)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def write_json(path: Path, content: Any) -> None:
    """Write JSON that is the same for the same content: keys sorted, two spaces, UTF-8."""
    text = json.dumps(content, indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False)
    write_whole(path, text + "\n")


def read_json(path: Path) -> dict[str, Any]:
    """Read a JSON object; a file that is not there is an empty one."""
    if not path.exists():
        return {}
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


def sha256(path: Path) -> str:
    """Hash the bytes of a file.

    Returns
    -------
    str
        64 hexadecimal digits.

    References
    ----------
    National Institute of Standards and Technology (2015) Secure Hash Standard,
    FIPS PUB 180-4, doi:10.6028/NIST.FIPS.180-4.
    """
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
