"""The measurement room in Python: detection limits, hysteresis, instrument check, noise, outliers, findings."""

import math
import pickle

import numpy as np
import pytest
from scipy import stats

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.020, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented
BLANK = [0.4e-6, -0.2e-6, 0.1e-6, 0.3e-6, -0.1e-6, 0.0, 0.2e-6, -0.3e-6]  # invented


def ways(seed=1, **options):
    rig = dict(noise_current_a=2e-5, time_constant_s=0.05, dwell_s=0.1) | options
    return [
        ld.simulate_sweep(CELL, ld.Instrument(start=a, stop=b, **rig), seed=seed + k)
        for k, (a, b) in enumerate([(-0.1, 0.85), (0.85, -0.1)])
    ]


def test_limits_are_those_of_scipy():
    limits = ld.detection_limits(BLANK, unit="A")
    n, s = len(BLANK), np.std(BLANK, ddof=1)
    net = s * math.sqrt(1 + 1 / n)
    t = stats.t.ppf(0.95, n - 1)
    assert limits.critical.value == pytest.approx(t * net, rel=1e-9)
    delta = limits.detection.value / net
    assert stats.nct.cdf(t, n - 1, delta) == pytest.approx(0.05, abs=1e-6)
    assert limits.quantification.value == pytest.approx(10 * net, rel=1e-12)
    assert limits.blank.value == pytest.approx(np.mean(BLANK), rel=1e-12)
    known = ld.detection_limits([0.0], unit="A", scatter=1e-6)
    assert known.detection.value == pytest.approx(4.65e-6, rel=1e-3)
    assert pickle.loads(pickle.dumps(limits)) == limits
    assert "detection limit" in repr(limits)
    for blank, options, match in [
        ([1.0], {}, "two or more"),
        ([1.0, 1.0], {}, "all 2 blank readings"),
        ([1.0, math.nan], {}, "index 1"),
        (BLANK, {"alpha": 0.6}, "alpha"),
        (BLANK, {"unit": "furlong"}, "unit"),
    ]:
        with pytest.raises(ld.InputError, match=match):
            ld.detection_limits(blank, **options)


def test_the_smallest_cell_is_at_the_limit():
    dye = ld.SingleDiode(iph_a=5e-4, i0_a=1e-9, n=2.0, rs_ohm=60, rsh_ohm=2e4)  # invented
    rig = ld.Noise(current_a=3e-6)
    smallest = ld.smallest_cell(dye, rig, "ff", 0.05)
    scale = smallest / dye.key_points().isc.value
    for share, above in ((1.3, True), (0.7, False)):
        k = scale * share
        cell = ld.SingleDiode(iph_a=5e-4 * k, i0_a=1e-9 * k, n=2.0, rs_ohm=60 / k, rsh_ohm=2e4 / k)
        voc = cell.key_points().voc.value
        v = np.linspace(-0.03 * voc, 1.03 * voc, 25)
        points = ld.Sweep(v, cell.current(v), noise=rig).key_points()
        assert (points.ff is not None and points.ff.u / points.ff.value < 0.05) == above
    with pytest.raises(ld.InputError, match="figure"):
        ld.smallest_cell(dye, rig, "rs")
    with pytest.raises(ld.InputError, match="state the scatter"):
        ld.smallest_cell(dye, ld.Noise(), "ff")


def test_hysteresis_of_a_slow_cell():
    found = ld.hysteresis(*ways())
    assert abs(found.time_constant_s.value - 0.05) < 4 * found.time_constant_s.u
    assert found.dwell_s == pytest.approx(0.1) and found.why == []
    assert abs(found.settled.key_points().voc.value - CELL.key_points().voc.value) < 1e-3
    assert found.dwell_for(1e-5).value > found.dwell_for(1e-3).value
    assert pickle.loads(pickle.dumps(found)) == found
    quick = ld.hysteresis(*ways(time_constant_s=0.0))
    assert quick.time_constant_s is None and "scatter" in dict(quick.why)["time_constant_s"]
    assert abs(quick.index.value) < 4 * quick.index.u
    with pytest.raises(ld.InputError, match="same way"):
        ld.hysteresis(ways()[0], ways()[0])
    with pytest.raises(ld.InputError, match="no time constant"):
        quick.dwell_for(1e-5)


def test_a_file_that_goes_and_returns():
    up, down = ways()
    v, i = np.r_[up.voltage_v, down.voltage_v], np.r_[up.current_a, down.current_a]
    whole = ld.Sweep(v, i, time_s=0.1 * np.arange(v.size), noise=ld.Noise(current_a=2e-5), label="cell 3")
    first, second = whole.branches()
    assert [first.label, second.label] == ["cell 3, up", "cell 3, down"]
    np.testing.assert_allclose(second.current_a, down.current_a)
    assert ld.hysteresis(first, second).time_constant_s is not None
    kinds = {f.kind: f for f in whole.findings}
    assert kinds["not_settled"].severity == "warning" and "turns_back" in kinds
    assert [s.label for s in up.branches()] == [up.label]


def test_an_outlier_is_left_out_on_request_only():
    clean = ld.simulate_sweep(CELL, ld.Instrument(start=-0.1, stop=0.85, noise_current_a=2e-5), seed=4)
    v, i = np.array(clean.voltage_v), np.array(clean.current_a)
    i[7] += 2e-3
    kept = ld.Sweep(v, i)
    [finding] = [f for f in kept.findings if f.kind == "outlier"]
    assert "without it" in finding.text and finding.points == [7]
    assert len(kept) == 25 and set(finding.figures) >= {"isc", "ff"}
    left = ld.Sweep(v, i, outliers="exclude")
    assert len(left) == 24 and "reading 7" in left.changes[-1].what
    np.testing.assert_array_equal(left.raw()[1], i)
    assert abs(left.key_points().isc.value - 0.02) < 4 * left.key_points().isc.u
    rows = ld.key_points_many(v, np.array([i, clean.current_a]), outliers="exclude")
    assert rows[0].isc == left.key_points().isc
    with pytest.raises(ld.InputError, match="outliers"):
        ld.Sweep(v, i, outliers="drop")
    assert len(ld.Sweep.from_json(left.to_json())) == 24


def test_noise_comes_from_the_sweep():
    sweep = ld.simulate_sweep(CELL, ld.Instrument(points=80, start=-0.1, stop=0.85, noise_current_a=2e-5), seed=3)
    found = sweep.estimate_noise()
    assert abs(found.current_a / 2e-5 - 1) < 4 / math.sqrt(2 * found.scatter_dof)
    stepped = ld.Instrument(swept="current", start=0.0, stop=0.0198, points=60, noise_voltage_v=1e-3)
    found = ld.simulate_sweep(CELL, stepped, seed=3).estimate_noise()
    assert abs(found.voltage_v / 1e-3 - 1) < 4 / math.sqrt(2 * found.scatter_dof) and found.current_a == 0
    with pytest.raises(ld.InputError, match="show no noise"):
        ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]).estimate_noise()


def test_an_instrument_check_says_it_in_one_sentence():
    read = [ld.Estimate(x, 0.003, unit="A") for x in (1.017, 1.018, 1.019)]
    check = ld.check_instrument(read, ld.Estimate(1.0, 0.002, unit="A"), time_h=[0, 1, 2])
    assert not check.passes and check.bias.value == pytest.approx(0.018)
    assert str(check).startswith("the rig reads (1.80 ± 0.27) % high (E_n = 3.40, does not pass)")
    slope = stats.linregress([0, 1, 2], [1.017, 1.018, 1.019]).slope
    assert check.drift.value == pytest.approx(slope) and check.drift.unit == "1/h"
    assert pickle.loads(pickle.dumps(check)) == check
    with pytest.raises(ld.InputError, match="measured is empty"):
        ld.check_instrument([], ld.Estimate(1.0, 0.1))
    with pytest.raises(ld.InputError, match="one time a figure"):
        ld.check_instrument(read, ld.Estimate(1.0, 0.1, unit="A"), time_h=[0.0])


def test_a_budget_as_frame_and_picture():
    sweep = ld.simulate_sweep(CELL, ld.Instrument(start=-0.1, stop=0.85, noise_current_a=2e-5), seed=3)
    lamp = ld.Estimate(1000.0, 20.0, unit="W/m²", name="lamp")
    lit = ld.Sweep(sweep.voltage_v, sweep.current_a, area_cm2=ld.Estimate(1.0, 0.01), irradiance_w_m2=lamp)
    budget = lit.budget("efficiency")
    frame = budget.frame()
    assert list(frame.columns) == ["source", "u", "share"]
    assert frame["share"].sum() == pytest.approx(1.0, rel=1e-9)
    ax = budget.plot()
    assert [t.get_text() for t in ax.get_yticklabels()] == list(frame["source"])


def test_an_estimate_is_no_plain_number():
    with pytest.raises(TypeError, match="current_a takes a plain number"):
        ld.Noise(current_a=ld.Estimate(3e-6, 1e-7, unit="V"))


def test_a_figure_below_its_limit_is_shown_as_such():
    rng = np.random.default_rng(1)
    v = np.linspace(-0.1, 0.9, 25)
    current_a = 1e-3 * (0.8 - v) + 2e-3 * rng.standard_normal(25)  # a shunted cell in the noise
    sweep = ld.Sweep(v, current_a, sign="generator", leads="as_given", noise=ld.Noise(current_a=2e-3))
    points = sweep.key_points()
    assert points.isc.value < 3.29 * points.isc.u
    assert "not detected" in repr(points) and "not detected" in points._repr_html_()
    assert "below_noise" in [f.kind for f in points.findings]


def test_findings_carry_what_they_are_about():
    v = np.linspace(-0.05, 0.8, 25) + 1.5
    [bias] = [f for f in ld.Sweep(v, CELL.current(v - 1.5)).findings if f.kind == "bias"]
    assert bias.severity == "warning" and "voc" in bias.figures and "offset" in bias.text
