"""The page of plain text that tells a reviewer what a bundle is and how to verify it."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Mapping
from typing import Any

from wintersward.handin.discretion import NO_PLACE, PEOPLE_LEFT_OUT, PLACE_ROUGH, PLACE_ROUNDED
from wintersward.handin.inputs_check import OWN_COPY

__all__ = ["README", "readme"]

README = "README.txt"

_WIDTH = 78
_PLACES = {
    "report.html": "the study report; any browser opens it, without a network",
    "brief.html": "the same on one page",
    "run/results/": "every number of the report as a table (CSV); datapackage.json tells columns, "
    "units and keys",
    "run/notebooks/": "the notebooks as they were executed",
    "run/figures/": "the pictures of the report",
    "study/": "everything that the run was made from: the definition trial.yaml, the diary, plots, "
    "sheets, logger files, photos where they were not left out",
    "inventory.json": "every file with its size and SHA-256",
    "ro-crate-metadata.json": "the same as an RO-Crate, with an action for each stage of the run",
    "miappe.csv": "the fields of MIAPPE 1.2, those that are not known among them",
}


def readme(
    archive: str, listing: Mapping[str, Any], made_from: Mapping[str, Any], ended: str, photos: int
) -> str:
    """Write the page.

    Parameters
    ----------
    archive : str
        Name of the bundle's file.
    listing : mapping
        The inventory, as far as it is made.
    made_from : mapping
        ``inputs.json`` of the run.
    ended : str
        When the run ended, ISO 8601.
    photos : int
        Photos in the bundle.

    Returns
    -------
    str
        Plain text, at most 78 characters a line.
    """
    day = dt.datetime.fromisoformat(ended)
    version = made_from["versions"]["wintersward"]
    blocks = [
        [listing["study"]],
        [
            f"Run {listing['run']} of a winter-cover trial, ended on {day.day} {day:%B %Y}, made "
            f"with wintersward {version}. This file tells how to see that this report follows from "
            "the files that lie beside it."
        ],
        ["HOW TO VERIFY", *_verifying(archive, version, _own_copies(made_from))],
        ["WHAT IS IN IT", *_places(listing)],
        ["WHAT IS NOT IN IT, AND WHAT WAS CHANGED", *_missing(listing, photos)],
        ["PEOPLE AND PLACE", *_private(listing)],
    ]
    return "\n\n".join("\n".join(map(_wrapped, block)) for block in blocks) + "\n"


def _wrapped(text: str) -> str:
    """Break a line; what is a list entry, or typed, keeps its indent."""
    indent = " " * (len(text) - len(text.lstrip()))
    return textwrap.fill(
        text.strip(),
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + ("  " if indent else ""),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _own_copies(made_from: Mapping[str, Any]) -> list[str]:
    used = made_from["templates"]
    return sorted(name for name, one in used.items() if one["from"] == OWN_COPY)


def _verifying(archive: str, version: str, own: list[str]) -> list[str]:
    # Typed on the reviewer's computer: what started this one does not matter there.
    verb = "verify"
    option = " --with-own-copies" if own else ""
    arguments = f' ARGS="{option.strip()}"' if own else ""
    programs = [
        f"The run used {len(own)} of its own notebooks or templates: {', '.join(own)}. They are "
        "programs of whoever made this bundle: read them, and leave that option away where you do "
        "not trust them; nothing is run again then, and it does not pass."
    ]
    return [
        "With wintersward installed (Python 3.11 or newer), no network needed:",
        f"  wintersward {verb} {archive}{option}",
        "or, in a copy of its source with make:",
        f"  make {verb} BUNDLE={archive}{arguments}",
        *(programs if own else []),
        "It compares every file with inventory.json, runs the study again from the files here, and "
        "compares every table and every number of the report with the new ones. It prints PASS or "
        "FAIL for each, and ends with exit code 0 only where all passed. With wintersward "
        f"{version} and the versions in run/inputs.json words, pictures and notebooks are compared "
        "too; what cannot be compared is told.",
        "What it shows is that this report follows from these files. Whether the files are those "
        "of the field it cannot tell: compare the code of the plan with the protocol that you were "
        "sent before the season.",
        "By hand: unpack, and compare the SHA-256 of any file with inventory.json.",
    ]


def _places(listing: Mapping[str, Any]) -> list[str]:
    names = [*listing["files"], "inventory.json", "ro-crate-metadata.json"]
    return [
        f"  {place}: {words}"
        for place, words in _PLACES.items()
        if any(name.startswith(place) for name in names)
    ]


def _missing(listing: Mapping[str, Any], photos: int) -> list[str]:
    out = listing["left_out"]
    said = []
    if out:
        size = sum(one["bytes"] for one in out.values())
        said.append(
            f"{len(out)} photos ({size / 1e6:.1f} MB) were left out on request; inventory.json "
            "lists each with its SHA-256. Their scores are in run/results/photo_scores.csv and "
            "cannot be made again without them. Small pictures of some are in the report."
        )
    elif photos:
        said.append(f"All {photos} photos that the run was made from are here.")
    said += [f"Changed on request: {words}." for words in listing["changed_on_request"]]
    said.append(
        "Papers for the field, earlier runs and whatever else lay in the study folder are not "
        "here: the run did not read them."
    )
    return said


def _private(listing: Mapping[str, Any]) -> list[str]:
    changed = "\n".join(listing["changed_on_request"])
    people = "Names of people stand here as the study holds them."
    if PEOPLE_LEFT_OUT in changed:
        people = (
            "Names of people were left out, and so was the name of the computer; its system, and "
            "the zone of its clock, stand in run/provenance.json. Initials stay, since they tell "
            "whose a rating is, and so do roles, the name of the site and whom the report goes "
            "to. Only names that the definition holds are known: read notes and sheets before you "
            "pass them on."
        )
    place = "The position of the site stands here as the study holds it."
    if PLACE_ROUNDED in changed:
        place = "The position of the site was rounded to 0.1 degree, about ten kilometres."
    elif PLACE_ROUGH in changed or NO_PLACE in changed:
        place = "No position of the site finer than 0.1 degree stands here."
    return [people, place]
