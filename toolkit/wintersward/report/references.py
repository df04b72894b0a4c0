"""The supporting methods that a report really uses, and the published sources of all."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

__all__ = ["references", "supporting_words"]

Table = Callable[[str], pd.DataFrame]

# Title, and what it serves for in this report.
_SOURCES = {
    "allen": (
        "Allen D. M. (1974) The relationship between variable selection and data augmentation "
        "and a method for prediction. Technometrics 16, 125–127.",
        "whether a calibration holds for photos it has not seen",
    ),
    "bakdash": (
        "Bakdash J. Z., Marusich L. R. (2017) Repeated measures correlation. Frontiers in "
        "Psychology 8, 456. doi:10.3389/fpsyg.2017.00456",
        "eye against photo, over the dates",
    ),
    "bland": (
        "Bland J. M., Altman D. G. (1986) Statistical methods for assessing agreement between "
        "two methods of clinical measurement. Lancet 327, 307–310. "
        "doi:10.1016/S0140-6736(86)90837-8",
        "limits of agreement",
    ),
    "bland 1999": (
        "Bland J. M., Altman D. G. (1999) Measuring agreement in method comparison studies. "
        "Statistical Methods in Medical Research 8, 135–160. doi:10.1177/096228029900800204",
        "intervals of the limits of agreement",
    ),
    "bland 2007": (
        "Bland J. M., Altman D. G. (2007) Agreement between methods of measurement with "
        "multiple observations per individual. Journal of Biopharmaceutical Statistics 17, "
        "571–582. doi:10.1080/10543400701329422",
        "limits of agreement with several looks a plot",
    ),
    "brown": (
        "Brown M. B., Forsythe A. B. (1974) Robust tests for the equality of variances. "
        "Journal of the American Statistical Association 69, 364–367. "
        "doi:10.1080/01621459.1974.10482955",
        "checks: whether treatments vary alike",
    ),
    "cochran 1957": (
        "Cochran W. G., Cox G. M. (1957) Experimental designs, 2nd edition. Wiley, New York.",
        "what blocks, readings and seasons bring",
    ),
    "cochran 1977": (
        "Cochran W. G. (1977) Sampling techniques, 3rd edition. Wiley, New York.",
        "photos drawn and points counted",
    ),
    "cook": (
        "Cook R. D., Weisberg S. (1982) Residuals and influence in regression. Chapman and "
        "Hall, New York.",
        "the look without observations that stand apart",
    ),
    "dunn": (
        "Dunn O. J. (1961) Multiple comparisons among means. Journal of the American "
        "Statistical Association 56, 52–64. doi:10.1080/01621459.1961.10482090",
        "intervals of families, by Bonferroni",
    ),
    "dunnett": (
        "Dunnett C. W. (1955) A multiple comparison procedure for comparing several "
        "treatments with a control. Journal of the American Statistical Association 50, "
        "1096–1121. doi:10.1080/01621459.1955.10501294",
        "the declared family",
    ),
    "fisher 1932": (
        "Fisher R. A. (1932) Statistical methods for research workers, 4th edition. Oliver "
        "and Boyd, Edinburgh.",
        "the covariate",
    ),
    "fisher": (
        "Fisher R. A. (1935) The design of experiments. Oliver and Boyd, Edinburgh.",
        "the randomisation test",
    ),
    "gomez": (
        "Gomez K. A., Gomez A. A. (1984) Statistical procedures for agricultural research, "
        "2nd edition. Wiley, New York.",
        "several grounds",
    ),
    "hodges": (
        "Hodges J. L., Lehmann E. L. (1963) Estimates of location based on rank tests. Annals "
        "of Mathematical Statistics 34, 598–611. doi:10.1214/aoms/1177704172",
        "differences by ranks",
    ),
    "holm": (
        "Holm S. (1979) A simple sequentially rejective multiple test procedure. Scandinavian "
        "Journal of Statistics 6, 65–70.",
        "p in families",
    ),
    "hurvich": (
        "Hurvich C. M., Tsai C.-L. (1989) Regression and time series model selection in small "
        "samples. Biometrika 76, 297–307. doi:10.1093/biomet/76.2.297",
        "how the dates hang together",
    ),
    "jcgm": (
        "JCGM 100:2008. Evaluation of measurement data: guide to the expression of "
        "uncertainty in measurement. Joint Committee for Guides in Metrology.",
        "the calibrated scores",
    ),
    "kenward": (
        "Kenward M. G., Roger J. H. (1997) Small sample inference for fixed effects from "
        "restricted maximum likelihood. Biometrics 53, 983–997. doi:10.2307/2533558",
        "degrees of freedom",
    ),
    "mcgraw": (
        "McGraw K. O., Wong S. P. (1996) Forming inferences about some intraclass correlation "
        "coefficients. Psychological Methods 1, 30–46. doi:10.1037/1082-989X.1.1.30",
        "intervals of the agreement of raters",
    ),
    "patterson": (
        "Patterson H. D., Thompson R. (1971) Recovery of inter-block information when block "
        "sizes are unequal. Biometrika 58, 545–554. doi:10.1093/biomet/58.3.545",
        "restricted maximum likelihood",
    ),
    "satterthwaite": (
        "Satterthwaite F. E. (1946) An approximate distribution of estimates of variance "
        "components. Biometrics Bulletin 2, 110–114. doi:10.2307/3002019",
        "limits that are a share of established turf",
    ),
    "schuirmann": (
        "Schuirmann D. J. (1987) A comparison of the two one-sided tests procedure and the "
        "power approach for assessing the equivalence of average bioavailability. Journal of "
        "Pharmacokinetics and Biopharmaceutics 15, 657–680. doi:10.1007/BF01068419",
        "margins",
    ),
    "shapiro": (
        "Shapiro S. S., Wilk M. B. (1965) An analysis of variance test for normality "
        "(complete samples). Biometrika 52, 591–611. doi:10.1093/biomet/52.3-4.591",
        "checks: the shape of the residuals",
    ),
    "shrout": (
        "Shrout P. E., Fleiss J. L. (1979) Intraclass correlations: uses in assessing rater "
        "reliability. Psychological Bulletin 86, 420–428. doi:10.1037/0033-2909.86.2.420",
        "agreement of raters",
    ),
    "tukey": (
        "Tukey J. W. (1949) One degree of freedom for non-additivity. Biometrics 5, 232–242.",
        "checks: whether differences grow with the level",
    ),
    "wilcoxon": (
        "Wilcoxon F. (1945) Individual comparisons by ranking methods. Biometrics Bulletin 1, "
        "80–83. doi:10.2307/3001968",
        "ranks",
    ),
    "yates": (
        "Yates F. (1935) Complex experiments. Supplement to the Journal of the Royal "
        "Statistical Society 2, 181–247.",
        "the error of each kind of unit",
    ),
    "zou": (
        "Zou G. Y. (2013) Confidence interval estimation for the Bland–Altman limits of "
        "agreement with multiple observations per individual. Statistical Methods in Medical "
        "Research 22, 630–642. doi:10.1177/0962280211402548",
        "intervals of the limits of agreement",
    ),
}


# What each supporting analysis does, told where its table has rows.
_DONE = {
    "grounds": "Grounds: every treatment keeps a part of its own on each ground, as fixed terms; "
    "blocks lie within grounds, and the error is pooled over the grounds. The answer is averaged "
    "over the grounds, each weighing the same; what it is on each of them is described.",
    "randomisation": "Randomisation test: t of the primary comparison, found anew for the "
    "arrangements of treatments that the layout allows; p is the share of them, the observed one "
    "counted, whose t lies at least as far from zero.",
    "variance_shares": "Sources of variation: restricted maximum likelihood on single readings, "
    "treatments and raters fixed; blocks, units and plots random. What varies within a photo is "
    "told by a block bootstrap over its cells.",
    "equivalence": "Margins: a difference is called larger than what matters only where the whole "
    "interval of the answer lies beyond it, smaller only where the narrower interval of two "
    "one-sided tests lies within; caught up is one-sided, at the last visit.",
    "days_gained": "Days gained: each unit’s first day at the stated level, by straight lines "
    "between visits; the days are compared as any other value of the units. A unit that was "
    "there at the first visit, or never, gives a bound, and what rests on a bound is told as one.",
    "season_differences": "Season averages: area under the curve of each unit over the real "
    "dates, divided by their span; compared by the layout’s own model.",
    "structures": "All dates in one model: treatments, dates and their interactions as fixed "
    "terms; the terms of the layout, the same on each date, and the unit as random terms. How "
    "residuals hang together is chosen by AICc of the restricted likelihood among the structures "
    "listed; the simpler is kept unless AICc falls by more than 2.",
    "sensitivity": "Other analyses of the primary question: each comparison by itself, on other "
    "scales, by other models and with other observations.",
    "rank_differences": "Ranks: every pair of treatments of a rating is also compared by ranks, "
    "among the units of its own factor and within what surrounds them; p is exact, and stepped "
    "down by Holm over all such pairs of the rating on every planned date.",
    "agreement": "Agreement: intraclass correlations of raters; repeated-measures correlation of "
    "eye and photo, over the dates within plots and between plots within dates; limits of "
    "agreement where both are in one unit.",
    "point_agreement": "Points counted by people: photos drawn at random, one random cross in each "
    "cell of a grid; score less count with limits of agreement. A calibration is a line of counts "
    "on scores by least squares, kept only if it predicts photos that it has not seen better.",
    "seasons_differences": "Seasons together: season and its interaction with the treatments as "
    "fixed terms; blocks within seasons.",
}


def supporting_words(table: Table) -> list[str]:
    """Say how each supporting analysis was done, for those that have rows.

    Parameters
    ----------
    table : callable
        Gives a table of the run by its name, empty where it was not written.
    """
    return [words for name, words in _DONE.items() if not table(name).empty]


def references(table: Table) -> list[str]:
    """List the sources of the analyses that the tables of a run hold.

    Parameters
    ----------
    table : callable
        Gives a table of the run by its name, empty where it was not written.

    Returns
    -------
    list of str
        By author.
    """
    used = {**_compared(table), **_agreed(table), **_supported(table)}
    return [f"{text} ({serves})" for name, (text, serves) in _SOURCES.items() if used[name]]


def _compared(table: Table) -> dict[str, bool]:
    """Tell which sources the comparisons of treatments rest on."""
    ranked = (("rank_differences", "text"), ("sensitivity", "text"))
    by_ranks = _mentions(table, "signed ranks|rank sum", *ranked)
    return {
        "kenward": _mentions(table, "Kenward", ("tests", "method"), ("joint_tests", "method")),
        "patterson": not table("variances").empty or not table("structures").empty,
        "hodges": by_ranks,
        "wilcoxon": by_ranks,
        "holm": bool((table("differences")["role"] == "secondary").any()),
        "dunn": bool((table("differences")["role"] == "secondary").any()),
        "dunnett": _mentions(table, "dunnett", ("primary", "adjust")),
        "yates": bool(table("primary")["difference"].notna().any()),
        "gomez": not table("grounds").empty,
        "hurvich": bool(table("structures")["aicc"].notna().any()),
    }


def _agreed(table: Table) -> dict[str, bool]:
    """Tell which sources the agreement of raters, eye, photo and count rests on."""
    said = (("agreement", "statistic"), ("point_agreement", "what"))
    forms = (("agreement", "form"), ("point_agreement", "form"))
    words = (("agreement", "text"), ("point_agreement", "text"))
    raters = _mentions(table, "ICC|intraclass", *said)
    return {
        "shrout": raters,
        "mcgraw": raters and _mentions(table, "absolute agreement", *forms),
        "bakdash": _mentions(table, "repeated", ("agreement", "statistic")),
        "bland": _mentions(table, "limit", *said),
        "bland 1999": _mentions(table, "Bland and Altman 1999", *words),
        "bland 2007": _mentions(table, "Bland and Altman 2007", *words),
        "zou": _mentions(table, "Zou 2013", *words),
        "cochran 1977": not table("point_agreement").empty,
        "allen": bool(table("calibration")["error_after"].notna().any()),
        "jcgm": bool((table("sensitivity")["analysis"] == "calibrated").any()),
    }


def _supported(table: Table) -> dict[str, bool]:
    """Tell which sources the other supporting analyses and the checks rest on."""
    planned = ("block_value", "replication", "variance_shares", "seasons_differences")
    others = set(table("sensitivity")["analysis"])
    return {
        "satterthwaite": bool(table("readiness")["share"].notna().any()),
        "schuirmann": not table("equivalence").empty,
        "fisher": not table("randomisation").empty,
        "fisher 1932": "covariate" in others,
        "cook": "without outliers" in others,
        "cochran 1957": any(not table(name).empty for name in planned),
        "shapiro": _mentions(table, "Shapiro", ("checks", "test")),
        "brown": _mentions(table, "Brown", ("checks", "test")),
        "tukey": _mentions(table, "Tukey", ("checks", "test")),
    }


def _mentions(table: Table, words: str, *places: tuple[str, str]) -> bool:
    """Tell whether a column of one of the tables names a method."""
    return any(
        bool(table(name)[column].astype(str).str.contains(words, case=False).any())
        for name, column in places
    )
