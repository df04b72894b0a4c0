"""Tables of the budget and of advice on a next trial: what each holds, its key, and its units."""

from __future__ import annotations

from wintersward.analysis.columns import DATE, MEASURE, Column, Table

__all__ = ["BUDGET", "NEXT_TRIAL"]

_TREATMENT = Column("treatment", "text", "", "treatment that the budget is of")
_CURRENCY = Column("currency", "text", "", "as the diary names it")
_COUNTING = Column("counting", "text", "", "entries alone, or with the trial's estimate")
_PARTS = {
    "added_cost": "added costs",
    "reduced_cost": "reduced costs",
    "added_income": "added income",
    "reduced_income": "reduced income",
    "gain": "what the trial found, at what a step of it is worth, at the ends of what it may be",
}


def _ends(name: str, text: str, unit: str = "currency") -> tuple[Column, Column]:
    return (
        Column(f"{name}_low", "number", unit, f"{text}: lowest"),
        Column(f"{name}_high", "number", unit, f"{text}: highest"),
    )


BUDGET: dict[str, Table] = {
    "budget_items": Table(
        "Every line of the partial budget: one season on the whole area, against the control.",
        ("treatment", "list", "entry"),
        (
            _TREATMENT,
            Column("list", "text", "", "items, or worth: the list of the diary that it stands in"),
            Column("entry", "integer", "", "number of the entry in its list"),
            Column("part", "text", "", "added cost, reduced cost, added income or reduced income"),
            Column("kind", "text", "", "kind of the entry; what the trial found, of a worth"),
            Column("what", "text", "", "as the diary says"),
            *_ends("price", "amount on the whole area before it is spread; of a worth, one step"),
            *_ends("seasons", "seasons over which it is spread; empty: it is of one season", ""),
            *_ends(
                "season",
                "amount of one season; of a worth, between both ranges, empty: not counted",
            ),
            Column("source", "text", "", "as the diary says; empty where it says none"),
            _CURRENCY,
        ),
    ),
    "budget": Table(
        "Partial budget of each treatment against its control: one season, the whole area.",
        ("treatment", "counting"),
        (
            Column("factor", "text", "", "treatment factor"),
            _TREATMENT,
            Column("control", "text", "", "what it is set against"),
            _COUNTING,
            _CURRENCY,
            Column("area", "number", "m2", "area of the budget"),
            *(column for name, text in _PARTS.items() for column in _ends(name, text)),
            Column("least", "number", "currency", "net change with all ranges at their worst"),
            Column("most", "number", "currency", "net change with all ranges at their best"),
            Column("net_low", "number", "currency", "a tenth of the futures are at or below it"),
            Column("net_median", "number", "currency", "half of the futures are at or below it"),
            Column("net_high", "number", "currency", "nine tenths are at or below it"),
            Column("above_zero", "number", "%", "futures with a net change above zero"),
            Column("draws", "integer", "", "futures drawn"),
            Column("seed", "integer", "", "that they are drawn from: that of the layout"),
            Column("text", "text", "", "what is counted of the trial's estimates, and what not"),
        ),
    ),
    "budget_estimates": Table(
        "What the trial found of each treatment, and whether the budget carries it through.",
        ("treatment", "of"),
        (
            _TREATMENT,
            Column("of", "text", "", "days gained, or primary: the measure of the main question"),
            MEASURE,
            Column("estimate", "number", "unit", "treatment less control; days earlier"),
            Column("se", "number", "unit", "its standard error"),
            Column("df", "number", "", "its degrees of freedom"),
            Column("lower", "number", "unit", "lower end of its own interval, not adjusted"),
            Column("upper", "number", "unit", "upper end of its own interval, not adjusted"),
            Column("unit", "text", "", "day, or the SI unit of a difference of the measure"),
            Column("says", "text", "", "exactly, at least, at most; empty without an estimate"),
            Column("role", "text", "", "primary, or secondary"),
            Column("carried", "text", "", "yes, or no: not counted in the futures"),
            Column("text", "text", "", "why not, or what it is"),
        ),
    ),
    "break_even": Table(
        "What a step of a gain would have to be worth, how long material to last, to break even.",
        ("treatment", "of"),
        (
            _TREATMENT,
            Column("of", "text", "", "days gained, primary, or seasons"),
            _COUNTING,
            _CURRENCY,
            Column("step", "number", "unit", "step that the worth is told for; empty for seasons"),
            Column("unit", "text", "", "of the step: day, or the SI unit of the measure; season"),
            Column("low", "number", "", "a tenth of the futures break even at or below it"),
            Column("median", "number", "", "half do; empty: half never break even"),
            Column("high", "number", "", "nine tenths do; empty: a tenth or more never do"),
            Column("never", "number", "%", "futures that break even at no value"),
            Column("says", "text", "", "exactly; at most, at least: where the estimate is a bound"),
            Column("text", "text", "", "what it is, in words"),
        ),
    ),
}

NEXT_TRIAL: dict[str, Table] = {
    "next_trial": Table(
        "Advice on a next trial like this one, each with the number that it rests on.",
        ("advice", "measure", "date", "level"),
        (
            Column("advice", "text", "", "short name of the advice"),
            Column("measure", "text", "", "measure that it is about; empty: the trial"),
            DATE,
            Column("level", "text", "", "treatment that it is about; empty: all of them"),
            Column("value", "number", "", "the number that it rests on"),
            Column("now", "number", "", "the same in this trial; empty where there is none"),
            Column("cautious", "number", "", "the same with a cautious spread; empty without"),
            Column("many", "number", "", "blocks with which the value holds; empty without"),
            Column("unit", "text", "", "of the numbers"),
            Column("text", "text", "", "what it says, in words"),
        ),
    ),
}
