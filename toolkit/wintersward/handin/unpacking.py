"""A bundle, unpacked into a folder: nothing beside it, nothing over anything, nothing endless."""

from __future__ import annotations

import os
import re
import shutil
import stat
import struct
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from wintersward.errors import Problem, WinterswardError, disk_reason
from wintersward.handin.plain_names import folded, name_fault, printable

__all__ = ["LIMITS", "Limits", "unpack"]

_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_ENCRYPTED = 0x1
_PIECE = 1 << 20
# The record that ends a zip file (APPNOTE.TXT 6.3.10, 4.3.16, from memory): how it begins, and the
# length of the comment after it, which may be the only thing after it.
_END = struct.Struct("<4s16xH")
_END_SIGN = b"PK\x05\x06"
_INSIDE = "a path below the bundle's own folder, such as study/trial.yaml"


@dataclass(frozen=True)
class Limits:
    """How much a bundle may hold.

    Parameters
    ----------
    files : int
        Entries of the archive.
    size : int [bytes]
        Of all files together, unpacked.
    ratio : float
        How many times smaller than its files the archive may be. Photos hardly shrink, tables
        and pages to a tenth; deflate reaches 1032 on a file of zeros (RFC 1951: 258 bytes by two
        bits), which is what an archive made to fill a disk consists of.
    spared : int [bytes]
        Up to this size of all files together the ratio is not asked for.
    """

    files: int = 200_000
    size: int = 200_000_000_000
    ratio: float = 100.0
    spared: int = 10_000_000


LIMITS = Limits()


def unpack(archive: Path, folder: Path, limits: Limits = LIMITS) -> list[str]:
    """Unpack a zip file whose content nobody has vouched for.

    Parameters
    ----------
    archive : Path
        The zip file.
    folder : Path
        An empty folder, or one that is not there yet.
    limits : Limits
        How much it may hold.

    Returns
    -------
    list of str
        Every file, from the folder on, with forward slashes, sorted.

    Raises
    ------
    WinterswardError
        With everything that speaks against it, a line each: paths that are absolute, begin with
        a drive or climb; names that not every computer can write; links; two names that differ
        in case or in how letters are composed only, so that a file system may take them for one;
        encryption; other methods than deflate; more than `limits`; less room on the disk;
        something before the first file or after the end; damage. What the names and sizes tell is
        told before anything is written.
    """
    try:
        with zipfile.ZipFile(archive) as held:
            entries = [entry for entry in held.infolist() if not entry.is_dir()]
            problems = _unfit(held.infolist()) + _endless(archive, entries, folder, limits)
            problems += _before(archive, held.infolist()) + _behind(archive, len(held.comment))
            if problems:
                raise WinterswardError(problems)
            for entry in entries:
                _write(held, entry, folder)
    except OSError as error:
        found = f"files that this computer cannot write ({disk_reason(error)})"
        raise WinterswardError(Problem(archive.name, found=found)) from None
    except _DAMAGED as error:
        said = " ".join(str(error).split()) or type(error).__name__
        raise WinterswardError(
            Problem(archive.name, found=f"a damaged zip file, or none ({said})", hint=_AGAIN)
        ) from None
    return sorted(entry.filename for entry in entries)


_AGAIN = "ask for the file again"
_DAMAGED = (
    *(zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, RuntimeError),
)


def _unfit(entries: Sequence[zipfile.ZipInfo]) -> list[Problem | str]:
    """Tell which entries must not be written, and which cannot be told apart."""
    problems: list[Problem | str] = []
    for entry in entries:
        if found := _climbs(entry.orig_filename) or _no_plain_file(entry):
            name = printable(entry.orig_filename)
            problems.append(Problem(name, found=found[0], allowed=found[1]))
    names = Counter(entry.filename for entry in entries)
    folders = {part for entry in entries for part in _parts(entry)[:-1]}
    for name, count in names.items():
        if count > 1:
            problems.append(Problem(printable(name), found="the same name twice"))
        elif name in folders:
            problems.append(Problem(printable(name), found="a file and a folder of one name"))
    return problems + _alike(dict.fromkeys(part for entry in entries for part in _parts(entry)))


def _before(archive: Path, entries: Sequence[zipfile.ZipInfo]) -> list[Problem | str]:
    """Tell whether something stands before the first file, which other programs may read."""
    if not entries or min(entry.header_offset for entry in entries) == 0:
        return []
    found = "something before its first file, so that another program may see other files in it"
    return [Problem(archive.name, found=found, allowed="a zip file alone", hint=_AGAIN)]


def _behind(archive: Path, comment: int) -> list[Problem | str]:
    """Tell whether something stands behind the record that ends the archive, and its comment."""
    with archive.open("rb") as stream:
        stream.seek(-(_END.size + comment), os.SEEK_END)
        ended = _END.unpack(stream.read(_END.size))
    if ended == (_END_SIGN, comment):
        return []
    found = "something after its end, so that another program may see other files in it"
    return [Problem(archive.name, found=found, allowed="a zip file alone", hint=_AGAIN)]


def _alike(names: Iterable[str]) -> list[Problem | str]:
    """Tell which names some file system takes for one; outer folders come before what they hold."""
    problems: list[Problem | str] = []
    seen: dict[str, str] = {}
    for name in names:
        first = seen.setdefault(folded(name), name)
        around = name.rpartition("/")[0]
        told_already = around and seen[folded(around)] != around
        if first != name and not told_already:
            found = f"a name that differs from {printable(first)} in case or in accents only"
            problems.append(Problem(printable(name), found=found, allowed="names that differ"))
    return problems


def _climbs(name: str) -> tuple[str, str] | None:
    """Say what is wrong with a path, and what is allowed."""
    parts = name.removesuffix("/").split("/")
    if "\\" in name:
        return "a path with a backslash", _INSIDE
    if name.startswith("/"):
        return "an absolute path", _INSIDE
    if any(re.match("[A-Za-z]:", part) for part in parts):
        return "a path that begins with a drive", _INSIDE
    if ":" in name:
        return "a path with a colon", _INSIDE
    if ".." in parts:
        return "a path that climbs out of its folder", _INSIDE
    if any(part in ("", ".") for part in parts):
        return "a path with an empty part", _INSIDE
    if fault := name_fault(name):
        return fault, "letters, digits and signs"
    return None


def _no_plain_file(entry: zipfile.ZipInfo) -> tuple[str, str] | None:
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if stat.S_ISLNK(kind):
        return "a link", "files"
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        return "neither a file nor a folder", "files"
    if entry.flag_bits & _ENCRYPTED:
        return "an encrypted file", "files without a password"
    if entry.compress_type not in _METHODS:
        return f"a file packed by method {entry.compress_type}", "deflate, or none"
    return None


def _parts(entry: zipfile.ZipInfo) -> list[str]:
    """List the folders around an entry and the entry itself, outermost first."""
    parts = entry.filename.removesuffix("/").split("/")
    return ["/".join(parts[: n + 1]) for n in range(len(parts))]


def _endless(
    archive: Path, entries: Sequence[zipfile.ZipInfo], folder: Path, limits: Limits
) -> list[Problem | str]:
    """Tell whether the archive holds too much."""
    size, packed = sum(entry.file_size for entry in entries), archive.stat().st_size
    problems: list[Problem | str] = []

    def told(found: str, allowed: str) -> None:
        problems.append(Problem(archive.name, found=found, allowed=allowed))

    if len(entries) > limits.files:
        told(f"{len(entries)} files", f"at most {limits.files}")
    if size > limits.size:
        told(f"{size} bytes unpacked", f"at most {limits.size}")
    elif size > limits.spared and size > limits.ratio * packed:
        told(
            f"{size} bytes unpacked out of {packed}, {size / packed:.0f} times as much",
            f"at most {limits.ratio:g} times",
        )
    elif size > (free := shutil.disk_usage(_there(folder)).free):
        told(f"{size} bytes unpacked", f"what the disk has room for: {free}")
    return problems


def _there(folder: Path) -> Path:
    return next(place for place in (folder, *folder.parents) if place.exists())


def _write(held: zipfile.ZipFile, entry: zipfile.ZipInfo, folder: Path) -> None:
    """Write one file; a size that the entry lied about is damage, told by the zip file itself."""
    target = folder.joinpath(*entry.filename.split("/"))
    target.parent.mkdir(parents=True, exist_ok=True)
    # Never over a file: names that this file system takes for one would meet here.
    with held.open(entry) as source, target.open("xb") as made:
        shutil.copyfileobj(source, made, _PIECE)
