"""Tables of several methods: what they hold, and how they read."""

import numpy as np
import pytest

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900.0)
DARK = ld.SingleDiode(iph_a=0.0, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900.0)


def lit(seed: int = 1) -> ld.Sweep:
    """An invented sweep with known truth."""
    voltage_v = np.linspace(-0.1, 0.68, 40)
    scatter = np.random.default_rng(seed).normal(0, 3e-5, 40)
    return ld.Sweep(voltage_v, CELL.current(voltage_v) + scatter, noise=ld.Noise(current_a=3e-5))


def dark() -> ld.Sweep:
    voltage_v = np.linspace(-0.3, 0.75, 50)
    current = DARK.current(voltage_v)
    noise = ld.Noise(current_rel=0.005, current_a=1e-7)
    scatter = np.random.default_rng(2).normal(0, 1, 50) * np.hypot(0.005 * current, 1e-7)
    return ld.Sweep(voltage_v, current + scatter, sign="generator", leads="as_given", noise=noise)


def test_maximum_powers_agree_with_the_truth():
    truth = float(CELL.key_points().pmax)
    found = ld.maximum_powers(lit())
    methods = [row.method for row in found.rows]
    assert methods == ["highest sample", "guided curve", "smooth curve", "concave curve", "diode model"]
    assert found.quote.method == "guided curve"
    # The window holds the maximum and spares the flat part.
    assert found.window_v[0] < found.quote.v_pmax < found.window_v[1] and found.window_v[0] > 0.2
    # The smooth curve's penalty is left out: at so little noise its bias is larger than its ±, as its remark says.
    for row in (found.quote, found.rows[1], found.rows[4]):
        assert row.pmax.value == pytest.approx(truth, abs=4 * row.pmax.u)
    assert "quote the guided curve" in repr(found) and "<table>" in found._repr_html_()
    assert list(found.frame()["method"]) == methods


def test_a_dark_sweep_has_no_maximum():
    found = ld.maximum_powers(dark())
    assert found.quote is None
    assert "guided curve" in found.absent and "none" in repr(found)


def test_resistances_by_all_methods():
    found = ld.resistances(lit(), dark(), n=1.4)
    held = [row for row in found.rows if not row.doubt]
    assert {row.quantity for row in held} == {"series", "shunt"}
    for row in held:
        truth = 0.8 if row.quantity == "series" else 900.0
        interval = row.resistance.interval(0.999)
        assert interval.low <= truth <= interval.high, row
    assert found.get("series", "diode fit, lit").resistance.u < found.get("series", "slope at Voc").resistance.u
    # 40 points are too few for the slope of Werner's plot: the table says so.
    assert found.get("series", "conductance plot (Werner)").doubt and "does not hold" in repr(found)
    assert any("irradiance" in why for _, _, why in found.absent)
    assert set(found.frame().columns) >= {"ohm", "u_ohm", "holds", "source"}


def test_the_resistance_to_quote_has_its_reason():
    found = ld.resistances(lit(), dark(), n=1.4)
    for quantity, truth in (("series", 0.8), ("shunt", 900.0)):
        row = found.quote[quantity]
        assert row is not None and row.method == "diode fit, lit" and not row.doubt
        low, high = row.interval
        assert low is not None and high is not None and low <= truth <= high
        assert "hold" in found.why[quantity]
    assert "quote the diode fit, lit" in repr(found) and "quote the diode fit, lit" in found._repr_html_()
    quoted = found.frame().query("quoted")
    assert list(quoted["method"]) == ["diode fit, lit"] * 2
    # A second diode in the dark: no single diode fits, and the quote passes over it and says so.
    cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-13, n1=1.0, i02_a=1e-7, n2=2.0, rs_ohm=0.5, rsh_ohm=400.0)  # invented
    v = np.linspace(-0.5, 0.66, 80)
    i = cell.current(v) + 3e-6 * np.random.default_rng(3).standard_normal(v.size)
    bent = ld.resistances(ld.Sweep(v, i, noise=ld.Noise(current_a=3e-6)))
    fit, row = bent.get("shunt", "diode fit, lit"), bent.quote["shunt"]
    assert fit is not None and fit.doubt and row is not fit
    assert row is None or "diode fit, lit" in bent.why["shunt"]


def test_no_sweep_gives_reasons_only():
    found = ld.resistances()
    assert not found.rows and found.absent
    assert found.quote == {"series": None, "shunt": None} and "no method" in found.why["series"]
    assert "Rs: none" in repr(found)
    with pytest.raises(ld.InputError, match="go together"):
        ld.resistances(lit(), implied_v=[0.5, 0.6])


def test_an_impossible_ideality_factor_is_refused_and_a_negative_resistance_doubted():
    with pytest.raises(ld.InputError, match=r"n = 160.* between 0\.3 and 10"):
        ld.resistances(lit(), n=160)
    sweep = lit()
    bent = ld.Sweep(
        sweep.voltage_v + 0.08 * np.arcsinh(sweep.current_a / 3e-3), sweep.current_a, noise=ld.Noise(current_a=3e-5)
    )
    below = [row for row in ld.resistances(bent).rows if row.quantity == "series" and row.resistance.value < 0]
    assert below and all(row.doubt for row in below)
    # An S about Voc, which no diode follows, is no series resistance that could be quoted.
    ess = ld.Sweep(
        sweep.voltage_v - 0.08 * np.arcsinh(sweep.current_a / 3e-3), sweep.current_a, noise=ld.Noise(current_a=3e-5)
    )
    assert ld.resistances(ess, n=1.4).quote["series"] is None
