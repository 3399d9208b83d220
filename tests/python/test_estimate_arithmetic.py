"""Estimates that compute: correlations are kept, through copies, pickles and JSON.

The package ``uncertainties`` computes the same figures by another route: linear propagation of independent variables.
"""

import copy
import math
import operator
import pickle

import numpy as np
import pytest

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.030, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
OTHER = ld.SingleDiode(iph_a=0.027, i0_a=3e-9, n=1.35, rs_ohm=0.7, rsh_ohm=700)  # invented


def measured(model, seed, **options):
    raw = ld.simulate_sweep(model, ld.Instrument(start=-0.1, noise_current_a=3e-5), seed=seed)
    return ld.Sweep(raw.voltage_v, raw.current_a, **options)


def test_one_source_is_common_to_its_copies():
    lamp = ld.Estimate(1000.0, 20.0, unit="W/m²")
    for other in (lamp, copy.copy(lamp), copy.deepcopy(lamp), pickle.loads(pickle.dumps(lamp))):
        assert (lamp - other).u == 0.0
    assert (lamp - ld.Estimate.from_json(lamp.to_json())).u == 0.0
    # Another one of the same numbers is another source, and equal all the same.
    twin = ld.Estimate(1000.0, 20.0, unit="W/m²")
    assert lamp == twin
    assert (lamp - twin).u == pytest.approx(math.hypot(20.0, 20.0), rel=1e-14)
    named = [ld.Estimate(1.0, 0.1, name="leads of the rig") for _ in range(2)]
    assert (named[0] - named[1]).u == 0.0


@pytest.mark.parametrize(
    "compute",
    [
        lambda x, y: x + 2 * y,
        lambda x, y: x * y - y,
        lambda x, y: x / y + 1,
        lambda x, y: (x - y) / (x + y),
        lambda x, y: 3 - x**2 + 1 / y,
        lambda x, y: (0 - x) * y**0.5,
    ],
)
def test_results_are_those_of_uncertainties(compute):
    from uncertainties import ufloat

    x, y = ld.Estimate(3.0, 0.2), ld.Estimate(2.0, 0.3)
    found, wanted = compute(x, y), compute(ufloat(3.0, 0.2), ufloat(2.0, 0.3))
    assert found.value == pytest.approx(wanted.n, rel=1e-14)
    assert found.u == pytest.approx(wanted.s, rel=1e-12)
    bridged = compute(*ld.ufloats([x, y]))
    assert bridged.s == pytest.approx(wanted.s, rel=1e-12)


def test_figures_of_one_sweep_are_correlated_as_their_covariance_says():
    points = measured(CELL, 3).key_points()
    ff = points.pmax / (points.isc * points.voc)
    assert ff.unit == ""
    assert ff.u == pytest.approx(points.ff.u, rel=1e-9)
    assert (ff - points.ff).u < 1e-6 * points.ff.u
    # var(a − b) = var(a) + var(b) − 2·cov(a, b), with the covariance that the object shows.
    names, c = points.names, points.covariance
    i, j = names.index("pmax"), names.index("v_pmax")
    quotient = points.pmax / points.v_pmax
    by = np.array([1 / points.v_pmax.value, -quotient.value / points.v_pmax.value])
    block = c[np.ix_([i, j], [i, j])]
    assert quotient.u == pytest.approx(math.sqrt(by @ block @ by), rel=1e-9)
    back = pickle.loads(pickle.dumps(points))
    assert (points.ff - back.ff).u < 1e-9 * points.ff.u


def test_a_difference_under_one_lamp_is_free_of_the_lamp():
    lamp = ld.Estimate(1000.0, 50.0, unit="W/m²")
    area = ld.Estimate(1.0, 0.0, unit="cm²")
    options = dict(area_cm2=area, irradiance_w_m2=lamp)
    a, b = (measured(m, s, **options).key_points() for m, s in ((CELL, 1), (OTHER, 2)))
    difference = a.efficiency - b.efficiency
    assert a.efficiency.u > 0.04 * a.efficiency.value
    # The lamp is 5 % of the difference, not 5 % of each.
    electrical = math.hypot(a.pmax.u, b.pmax.u) / (1e-4 * 1000.0)
    wanted = math.hypot(0.05 * difference.value, electrical)
    assert difference.u == pytest.approx(wanted, rel=1e-6)
    ratio = a.efficiency / b.efficiency
    assert ratio.u / ratio.value == pytest.approx(
        math.hypot(a.pmax.u / a.pmax.value, b.pmax.u / b.pmax.value), rel=1e-6
    )
    apart = [
        measured(m, s, area_cm2=area, irradiance_w_m2=ld.Estimate(1000.0, 50.0)) for m, s in ((CELL, 1), (OTHER, 2))
    ]
    apart = apart[0].key_points().efficiency - apart[1].key_points().efficiency
    assert apart.u > 5 * difference.u


def test_gains_are_common_to_sweeps_of_one_instrument():
    rig = ld.Noise(current_a=3e-5, current_gain_u=0.02)
    a, b = (measured(CELL, s, noise=rig).key_points().isc for s in (1, 2))
    exact = ld.Noise(current_a=3e-5)
    scatter = [measured(CELL, s, noise=exact).key_points().isc.u for s in (1, 2)]
    assert a.u > 20 * scatter[0]
    assert (a - b).u == pytest.approx(math.hypot(*scatter), rel=0.02)
    other = ld.Noise(current_a=3e-5, current_gain_u=0.02)
    c = measured(CELL, 2, noise=other).key_points().isc
    assert (a - c).u == pytest.approx(math.hypot(a.u, c.u), rel=1e-9)
    # A pickled instrument is the same one, and a name makes it the same everywhere.
    again = pickle.loads(pickle.dumps(rig))
    d = measured(CELL, 2, noise=again).key_points().isc
    assert (a - d).u == pytest.approx((a - b).u, rel=1e-9)


def test_corrections_are_common_to_the_sweeps_that_carry_them():
    leads = ld.LeadResistance(ld.Estimate(0.4, 0.1, unit="Ω"))
    a, b = (measured(CELL, s, corrections=[leads]).key_points().ff for s in (1, 2))
    assert (a - b).u < 0.7 * math.hypot(a.u, b.u)
    budget = {source: u for source, u, _ in (a - b).budget().contributions}
    assert budget.get("lead resistance", 0.0) < 0.05 * a.u
    assert math.hypot(*budget.values()) == pytest.approx((a - b).u, rel=1e-9)


def test_parameters_of_a_fit_keep_their_covariance():
    fit = ld.fit_single_diode(measured(CELL, 5, noise=ld.Noise(current_a=3e-5)))
    names, c = fit.names, fit.covariance
    i, j = names.index("rs"), names.index("n")
    n_and_rs = fit.parameters["rs"] * fit.parameters["n"]
    by = np.array([fit.parameters["n"].value, fit.parameters["rs"].value])
    assert n_and_rs.u == pytest.approx(math.sqrt(by @ c[np.ix_([i, j], [i, j])] @ by), rel=1e-9)
    points = fit.key_points()
    ff = points.pmax / (points.isc * points.voc)
    assert (ff - points.ff).u < 1e-6 * points.ff.u
    # Isc is next to Iph: their difference is known much better than either.
    assert (fit.parameters["iph"] - points.isc).u < 0.5 * points.isc.u


def test_degrees_of_freedom_stay_those_of_the_sweep():
    points = measured(CELL, 3).key_points()
    assert (2 * points.isc).dof == pytest.approx(points.isc.dof, rel=1e-9)
    assert (points.isc - points.isc).value == 0.0
    mean = sum(measured(CELL, seed).key_points().isc for seed in range(5)) / 5
    assert mean.dof > points.isc.dof
    assert mean.u < 0.8 * points.isc.u


def test_what_is_not_known_is_said():
    sweep = measured(CELL, 3)
    rows = [row.resistance for row in ld.resistances(sweep).rows if row.resistance.u is not None]
    mixed = rows[0] - rows[1]
    assert "sources are not recorded" in mixed.note
    assert (rows[0] - rows[0]).u == 0.0
    bare = ld.Estimate(1.0, unit="V")
    assert (bare + ld.Estimate(1.0, 0.1, unit="V")).u is None


def test_comparison_is_by_value():
    small, large = ld.Estimate(1.0, 0.5, unit="V"), ld.Estimate(2.0, 0.5, unit="V")
    assert small < large and large >= small and small < 1.5 and not small > large
    assert max([small, large]) is large and sorted([large, small])[0] is small
    with pytest.raises(ld.InputError, match="cannot be added or compared"):
        assert small < ld.Estimate(2.0, 0.5, unit="A")


@pytest.mark.parametrize(
    ("compute", "match"),
    [
        (lambda v, a: v + a, "V and one in A"),
        (lambda v, a: v * v, "no unit"),
        (lambda v, a: v / 0, "no finite number"),
        (lambda v, a: (v / v - 2) ** 0.5, "no finite number"),
    ],
)
def test_what_does_not_compute_is_refused(compute, match):
    with pytest.raises(ld.InputError, match=match):
        compute(ld.Estimate(2.0, 0.1, unit="V"), ld.Estimate(2.0, 0.1, unit="A"))


def test_other_types_are_no_operands():
    for wrong in ("text", None, [1.0]):
        with pytest.raises(TypeError):
            operator.add(ld.Estimate(1.0, 0.1), wrong)
    assert np.float64(2.0) * ld.Estimate(1.0, 0.1) == ld.Estimate(2.0, 0.2)


def test_a_budget_of_an_estimate_adds_up():
    lamp, meter = ld.Estimate(1.0, 0.02, name="lamp"), ld.Estimate(0.03, 0.0001, unit="A", name="meter")
    product = lamp * meter
    budget = product.budget()
    assert [c[0] for c in budget.contributions] == ["lamp", "meter"]
    assert math.hypot(*(c[1] for c in budget.contributions)) == pytest.approx(product.u, rel=1e-12)
    with pytest.raises(ld.InputError, match="given without"):
        ld.Estimate(1.0).budget()
