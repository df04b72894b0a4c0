"""LibreOffice opens files and saves them anew, as the programs of other people do."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

__all__ = ["COMMAS", "SEMICOLONS", "converted"]

# Separator, quote, UTF-8, first row, nothing by column, language, quotes where needed, as shown.
COMMAS = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false"
SEMICOLONS = "csv:Text - txt - csv (StarCalc):59,34,76,1,,0,false,true,false"
_SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Setup/L10N">
<prop oor:name="ooSetupSystemLocale" oor:op="fuse"><value>LOCALE</value></prop></item>
</oor:items>
"""


def converted(
    files: list[Path], kind: str, folder: Path, profile: Path, locale: str = "en-US"
) -> None:
    """Have LibreOffice open files and save them in a folder.

    Parameters
    ----------
    files : list of Path
        What is opened.
    kind : str
        As what it is saved: ``xlsx``, ``pdf``, `COMMAS` or `SEMICOLONS`.
    folder : Path
        Where it is saved.
    profile : Path
        A folder for the settings of the program; it is made where it is missing.
    locale : str
        How the program shows dates and decimals.
    """
    office = shutil.which("soffice")
    if office is None:
        pytest.fail("LibreOffice is needed: run make office", pytrace=False)
    (profile / "user").mkdir(parents=True, exist_ok=True)
    settings = profile / "user" / "registrymodifications.xcu"
    if not settings.exists():
        settings.write_text(_SETTINGS.replace("LOCALE", locale), encoding="utf-8")
    own = f"-env:UserInstallation={profile.as_uri()}"
    ways = ["--headless", "--convert-to", kind, "--outdir", str(folder)]
    subprocess.run([office, own, *ways, *map(str, files)], check=True, capture_output=True)
