"""A leaner drawing shows the same."""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree

import numpy as np
from matplotlib.figure import Figure

from wintersward.report.lean_svg import lean


def drawn() -> str:
    figure = Figure(figsize=(4, 3))
    axes = figure.add_axes((0.2, 0.2, 0.7, 0.7))
    days = np.linspace(0, 90, 91)
    axes.plot(days, np.sin(days / 7), color="#0072B2", marker="s", markevery=7)
    axes.fill_between(days, -1, np.cos(days / 7), alpha=0.3)
    axes.set_title("Soil, 0.123456 m deep")
    stream = io.StringIO()
    figure.savefig(stream, format="svg", metadata={"Date": None})
    return stream.getvalue()


def elements(text: str) -> list[tuple[str, list[str], str]]:
    """List tag, attributes and style of every element, a class as what it stands for."""
    sheet = dict(re.findall(r"\.(s\d+)\{([^}]*)\}", text))
    builder = ElementTree.TreeBuilder(insert_comments=True)
    tree = ElementTree.fromstring(text, ElementTree.XMLParser(target=builder))
    made = []
    for one in tree.iter():
        if "metadata" in str(one):
            continue
        held = dict(one.attrib)
        held.pop("id", None)
        style = held.pop("style", "") or sheet.get(held.pop("class", ""), "")
        made.append((str(one.tag), sorted(held), style))
    return made


def numbers(text: str) -> list[float]:
    paths = re.findall(r'\sd="([^"]*)"', text)
    return [float(one) for path in paths for one in re.findall(r"-?\d+(?:\.\d+)?", path)]


def test_elements_stay_and_places_move_by_less_than_is_seen() -> None:
    before = drawn()
    after = lean(before)
    assert len(after) < 0.85 * len(before)
    kept = [one for one in elements(before) if "cc/" not in one[0] and "purl" not in one[0]]
    kept = [one for one in kept if "creativecommons" not in one[0] and "rdf" not in one[0]]
    assert elements(after) == kept
    assert np.abs(np.array(numbers(after)) - np.array(numbers(before))).max() <= 0.005001


def referred(text: str) -> list[str]:
    """Number what is referred to by its first place, in the order of the references."""
    names = re.findall(r'(?<=href="#)[^"]+|(?<=url\(#)[^)]+', text)
    assert set(names) <= set(re.findall(r' id="([^"]*)"', text))
    order = list(dict.fromkeys(re.findall(r' id="([^"]*)"', text)))
    first = {name: str(order.index(name)) for name in names}
    numbers = {name: str(at) for at, name in enumerate(sorted(first, key=lambda n: int(first[n])))}
    return [numbers[name] for name in names]


def test_what_is_referred_to_stays_what_it_was() -> None:
    before = drawn()
    assert referred(lean(before)) == referred(before)
    assert len(set(referred(before))) > 20


def test_words_and_colours_are_left_alone() -> None:
    after = lean(drawn())
    assert "<!-- Soil, 0.123456 m deep -->" in after
    assert "#0072b2" in after
    assert "metadata" not in after


def test_it_is_done_once() -> None:
    once = lean(drawn())
    assert lean(once) == once
