"""The table of ways to aerate: what it holds, its key, and the unit of every column."""

from __future__ import annotations

from wintersward.analysis.columns import Column, Table

__all__ = ["AERATION"]

_TINE = (
    Column("option", "text", "", "name in the definition: a treatment, or a planned option"),
    Column("label", "text", "", "for a reader"),
    Column("source", "text", "", "treatment, or planned"),
    Column("kind", "text", "", "solid or hollow tine"),
    Column("outside", "number", "m", "outside diameter of the tine"),
    Column("inside", "number", "m", "inside diameter; empty for a solid tine"),
    Column("spacing_x", "number", "m", "from the middle of one hole to the next, one way"),
    Column("spacing_y", "number", "m", "from the middle of one hole to the next, the other way"),
    Column("depth", "number", "m", "depth of the holes"),
    Column("passes", "integer", "", "how often the machine goes over the ground"),
)

_GROUND = (
    Column("holes", "number", "m-2", "holes of all passes"),
    Column("affected", "number", "%", "ground with a hole, outside diameter, random passes"),
    Column("removed", "number", "%", "ground taken out, inside diameter, random passes"),
    Column("affected_sum", "number", "%", "sum over the passes: holes in holes counted again"),
    Column("soil_removed", "number", "m3 m-2", "soil taken out: inside diameter by depth"),
)

_SAND = (
    Column("sand", "number", "m3 m-2", "sand to fill all holes: outside diameter by depth"),
    Column("sand_mass", "number", "kg/m2", "its mass, dry, at 1600 kg to the cubic metre"),
    Column("topdressing", "number", "m", "depth of sand that is to be spread; empty: not told"),
    Column("topdressing_mass", "number", "kg/m2", "its mass, dry; empty: not told"),
    Column("filled", "number", "%", "share of the holes that the topdressing fills at most"),
    Column("topdressings_to_target", "number", "", "such topdressings to the sand of a year"),
)

_PASSES = (
    Column("passes_to_target", "number", "", "passes to the area of a year, by their sum"),
    Column("passes_to_target_union", "number", "", "the same, by the ground really hit"),
)

_DAYS = (
    Column("known_diameter", "number", "m", "outside diameter whose days are known"),
    Column("known_low", "number", "day", "fewest days of that diameter"),
    Column("known_high", "number", "day", "most days; empty: some were open when last seen"),
    Column("warmth", "number", "degC", "mean degree days of a day of the soil; empty: not used"),
    Column("good_warmth", "number", "degC", "degree days of a day in good growth; empty: not used"),
    Column("warmth_from", "date", "", "first day of that mean"),
    Column("warmth_to", "date", "", "last day of that mean"),
    Column("lengthening", "number", "", "times as long as in good growth; empty: not used"),
    Column("days_low", "number", "day", "fewest days until holes have closed; empty: no figure"),
    Column("days_high", "number", "day", "most days; empty: no figure, or open at the end"),
    Column("days_basis", "text", "", "what the days rest on"),
    Column("days_source", "text", "", "who saw them; empty: no figure"),
    Column("days_available", "number", "day", "from the aeration to the first use after it"),
    Column("spare_low", "number", "day", "days available less most days"),
    Column("spare_high", "number", "day", "days available less fewest days"),
)

_WAITS = (
    Column("option", "text", "", "name in the definition: a treatment, or a planned option"),
    Column("within", "text", "", "treatment of the other factor; empty: there is none"),
    Column("units", "integer", "", "units of this trial that the days were seen on"),
    Column("days_low", "number", "day", "fewest days until 95 % was closed, scaled by diameter"),
    Column("days_high", "number", "day", "most days; empty: some were open when last seen"),
    Column("visits_low", "number", "day", "last visit with all units open, scaled alike"),
    Column("visits_high", "number", "day", "first visit with all units closed, scaled alike"),
    Column("apart", "number", "day", "longest time between two visits around a day, not scaled"),
    Column("days_available", "number", "day", "from the aeration to the first use after it"),
    Column("spare_low", "number", "day", "days available less most days"),
    Column("spare_high", "number", "day", "days available less fewest days"),
    Column("says", "text", "", "closed, open or either: at the first use, by the visits alone"),
    Column("seen_on", "date", "", "last visit up to the first use; empty for scaled days"),
    Column("seen_plots", "integer", "", "plots seen on it; 0 for scaled days"),
    Column("seen_closed", "integer", "", "of them 95 % closed or more"),
    Column("seen_low", "number", "%", "least closed of them"),
    Column("seen_high", "number", "%", "most closed of them"),
)

AERATION: dict[str, Table] = {
    "aeration_days": Table(
        "Days until holes had closed by treatment of the other factor, against those there are.",
        ("option", "within"),
        _WAITS,
    ),
    "aeration_options": Table(
        "Ways to aerate side by side: arithmetic of tines, sand and days; no verdict.",
        ("option",),
        (*_TINE, *_GROUND, *_SAND, *_PASSES, *_DAYS),
    ),
}
