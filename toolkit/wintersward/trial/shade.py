"""What stands between the plots and the sun, and whether the rest of a definition tells enough."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from typing import Annotated, Any

from pydantic import Field, model_validator

from wintersward.errors import Problem
from wintersward.trial.dates import NamedDates, dates_meant
from wintersward.trial.layout import Layout
from wintersward.trial.parts import Distance, Number, Part, Text, wrong_field
from wintersward.trial.plot_lists import EveryPlot, listed_plots
from wintersward.trial.question_checks import Found
from wintersward.trial.reading import Place, Source

__all__ = ["SHADE_CHECKS", "Shade", "shade_plot_problems", "sun_span"]

Bearing = Annotated[Number, Field(ge=0, le=360)]

_EITHER = "either height, distance and bearing, or azimuth and height_angle"
_STAND = ("height", "distance", "bearing")
_FAR = ("azimuth", "height_angle")


class Shade(Part):
    """Something that shades plots: near, by its size and place, or far, as it is seen from them.

    A stand is told by its height and by distance and bearing (degrees from north, clockwise) of
    its middle from the middle of the trial; it runs square to the bearing, without end unless its
    length is given. What is far is told by the two bearings between which it stands, clockwise, and
    by how high it stands above the level [degrees].
    """

    name: Text
    height: Distance | None = None
    distance: Distance | None = None
    bearing: Bearing | None = None
    length: Distance | None = None
    azimuth: Annotated[list[Bearing], Field(min_length=2, max_length=2)] | None = None
    height_angle: Annotated[Number, Field(gt=0, lt=90)] | None = None
    plots: EveryPlot = "all plots"

    @model_validator(mode="after")
    def _told_in_one_way(self) -> Shade:
        near = [name for name in (*_STAND, "length") if getattr(self, name) is not None]
        far = [name for name in _FAR if getattr(self, name) is not None]
        if near and far:
            raise wrong_field(far[0], f"{far[0]} beside {near[0]}", _EITHER, "remove one of them")
        wanted = _FAR if far else _STAND
        missing = [name for name in wanted if getattr(self, name) is None]
        if missing:
            found = (
                f"no {' and no '.join(missing)}" if near or far else "nothing of where it stands"
            )
            raise wrong_field("", found, _EITHER, f"add '{missing[0]}: ...'")
        return self

    @model_validator(mode="after")
    def _sound_bearings(self) -> Shade:
        if self.azimuth is not None and self.azimuth[0] == self.azimuth[1]:
            rule = "two bearings, clockwise, such as [90, 130]; all around is [0, 360]"
            raise wrong_field("azimuth", f"'{self.azimuth[0]:g}' twice", rule)
        if self.is_stand and self.plots != "all plots":
            rule = "none beside height and distance: how each plot is shaded follows from them"
            raise wrong_field("plots", "plots", rule, "remove the line")
        return self

    @property
    def is_stand(self) -> bool:
        """Whether it is near, so that it shades each plot in another way."""
        return self.height is not None


def shade_plot_problems(shade: Sequence[Shade], plots: Sequence[str]) -> list[Problem]:
    """Check the plots that shade is told of, once they are drawn.

    Parameters
    ----------
    shade : sequence of Shade
        Of the site.
    plots : sequence of str
        Names of plots and whole plots.

    Returns
    -------
    list of Problem
        Of ``trial.yaml``, without line and column: `wintersward.trial.reading.placed` adds them.
    """
    told = Source("trial.yaml")
    return [
        told.problem(*wrong)
        for i, one in enumerate(shade)
        for wrong in listed_plots(("site", "shade", i, "plots"), one.plots, plots)
    ]


def sun_span(dates: NamedDates, primary_on: dt.date | str) -> tuple[dt.date, dt.date]:
    """Give the days of which the sun on the plots may count for the primary question.

    Parameters
    ----------
    dates : mapping of str to date or list of date
        The ``dates`` of the definition.
    primary_on : date or str
        When the primary question is asked.

    Returns
    -------
    tuple of date
        First and last: from the day the covers came off, or from the first date of all where the
        question is asked before it, to the day of the question.
    """
    last, off = dates_meant(dates, primary_on)[0], dates_meant(dates, "covers_off")[0]
    return (off if off <= last else min(*dates_meant(dates, dates), last)), last


def _position(site: Any) -> Found:
    """Where the sun stands follows from where the site lies."""
    for name in ("latitude", "longitude"):
        if site.shade and getattr(site, name) is None:
            hint = f"add '{name}: ...' in degrees, or remove the shade"
            yield ("site",), f"no {name} beside 'shade'", "where the site lies", hint


def _named_once(site: Any) -> Found:
    names = [one.name for one in site.shade]
    for i, name in enumerate(names):
        if name in names[:i]:
            yield ("site", "shade", i, "name"), f"'{name}' a second time", "", "name each once"


def _stands(site: Any, layout: Layout) -> Found:
    """A stand at a distance needs north, and one middle to count from."""
    for place, _ in _each_stand(site):
        if layout.grounds:
            rule = "azimuth and height_angle where there are several grounds"
            hint = "each ground has its own middle; list the plots of one under 'plots'"
            yield place, "a distance from the middle of the trial", rule, hint
        elif layout.north is None:
            hint = "add 'north: ...' under layout: degrees clockwise from up the map to north"
            yield place, "a bearing", "bearings where the layout tells north", hint
            return


def _each_stand(site: Any) -> Iterator[tuple[Place, Shade]]:
    for i, one in enumerate(site.shade):
        if one.is_stand:
            yield ("site", "shade", i, "bearing"), one


SHADE_CHECKS: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
    (_position, ("site",)),
    (_named_once, ("site",)),
    (_stands, ("site", "layout")),
]
