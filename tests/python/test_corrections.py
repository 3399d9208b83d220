"""Corrections of a sweep: what a tracer does to the readings is undone, and what is wrong is named."""

import pickle

import numpy as np
import pytest

import litdiode as ld
from litdiode.__main__ import main as command_line

VOLTAGE_V = np.linspace(-0.05, 0.63, 30)
CELL = ld.SingleDiode(iph_a=6e-3, i0_a=2e-8, n=1.9, rs_ohm=9.0, rsh_ohm=1500.0)
CURRENT_A = CELL.current(VOLTAGE_V)
BIAS = ld.Offset(voltage_v=ld.Estimate(1.5, 0.002, unit="V"))
SENSE = ld.SenseResistor(ld.Estimate(100.0, 0.5, unit="Ω"))
LEADS = ld.LeadResistance(ld.Estimate(2.0, 0.1, unit="Ω"))


def corrected(**options) -> ld.Sweep:
    """The readings of a tracer with a bias, a sense resistor and leads."""
    read = VOLTAGE_V - 2.0 * CURRENT_A + 1.5, 100.0 * CURRENT_A
    return ld.Sweep(*read, corrections=[BIAS, SENSE, LEADS], **options)


def test_the_device_comes_back_with_its_uncertainties():
    sweep = corrected(noise=ld.Noise(current_a=3e-8))
    np.testing.assert_allclose(sweep.voltage_v, VOLTAGE_V, atol=1e-15)
    np.testing.assert_allclose(sweep.current_a, CURRENT_A, rtol=1e-14)
    points, fit = sweep.key_points(), ld.fit_single_diode(sweep)
    # Half a per cent of the resistor is half a per cent of every current, and of the diode's currents.
    assert points.isc.u / points.isc.value == pytest.approx(0.005, rel=0.01)
    assert fit.iph.u / fit.iph.value == pytest.approx(0.005, rel=0.01)
    assert fit.n.u < 0.01
    # The bias shifts Voc, the leads move Rs by their own uncertainty beside the share of the resistor.
    assert points.voc.u == pytest.approx(0.002, rel=0.01)
    assert fit.rs.u == pytest.approx(np.hypot(0.1, 0.005 * 9.0), rel=0.05)
    drawn = fit.resample(draws=400, seed=1)
    interval = drawn.interval("rs", level=0.683)
    assert interval.high - interval.low == pytest.approx(2 * fit.rs.u, rel=0.2)


def test_what_came_is_kept_and_more_can_follow():
    sweep = corrected()
    voltage_v, current_a = sweep.raw()
    np.testing.assert_array_equal(voltage_v, VOLTAGE_V - 2.0 * CURRENT_A + 1.5)
    np.testing.assert_array_equal(current_a, 100.0 * CURRENT_A)
    assert sweep.corrections == [BIAS, SENSE, LEADS]
    more = sweep.correct([ld.Gain(current=2.0)])
    np.testing.assert_array_equal(more.raw()[0], voltage_v)
    np.testing.assert_array_equal(more.current_a, sweep.current_a / 2.0)
    assert len(more.corrections) == 4
    assert [change.what for change in more.changes][:3] == [str(c)[11:-1] for c in sweep.corrections]
    for one in (sweep, more, LEADS):
        assert pickle.loads(pickle.dumps(one)) == one
    assert ld.Sweep.from_json(more.to_json()) == more


def test_a_file_is_corrected_as_it_is_read():
    rows = [f"{v:.6f},{1e3 * i:.6f}" for v, i in zip(VOLTAGE_V + 1.5, CURRENT_A, strict=True)]
    text = "\n".join(["V (V),I (mA)", *rows])
    sweep = ld.read_sweep(text.encode(), corrections=[BIAS])
    np.testing.assert_allclose(sweep.voltage_v, VOLTAGE_V, atol=1e-6)


def test_other_kinds():
    drift = 1.0 + 0.02 * np.arange(30) / 29
    lamp = ld.Sweep(VOLTAGE_V, CURRENT_A * drift / drift.mean(), corrections=[ld.Monitor(drift)])
    np.testing.assert_allclose(lamp.current_a, CURRENT_A, rtol=1e-14)
    table = ld.Calibration(voltage=([-1.0, 1.0], [-1.1, 1.1]), u=1e-3)
    np.testing.assert_allclose(ld.Sweep(VOLTAGE_V, CURRENT_A, corrections=[table]).voltage_v, 1.1 * VOLTAGE_V)
    leak = ld.Sweep(VOLTAGE_V, CURRENT_A - VOLTAGE_V / 4e3, corrections=[ld.Leakage(4e3)])
    np.testing.assert_allclose(leak.current_a, CURRENT_A, rtol=1e-13)
    dark = ld.Sweep([-0.1, 0.0, 0.7], [2e-6, 1e-6, -9e-6], sign="generator", leads="as_given")
    background = np.interp(VOLTAGE_V, dark.voltage_v, dark.current_a)
    lit = ld.Sweep(VOLTAGE_V, CURRENT_A + background, corrections=[ld.DarkSweep(dark)])
    np.testing.assert_allclose(lit.current_a, CURRENT_A, rtol=1e-13)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: ld.Offset(voltage_v="x"), "voltage_v = 'x' is neither a number nor an Estimate"),
        (lambda: ld.Leakage(ld.Estimate(1.0, unit="V")), "ohm is an Estimate in V, and Ω is needed"),
        (ld.Calibration, "pass voltage= or current="),
        (lambda: ld.Calibration(voltage=3), "a pair of lists"),
        (lambda: ld.DarkSweep(3), "the litdiode.Sweep of the device in the dark"),
        (lambda: ld.Sweep(VOLTAGE_V, CURRENT_A, corrections=BIAS), "a list of corrections"),
        (lambda: ld.SenseResistor(0), "ohm = 0 is not allowed"),
        (lambda: ld.Offset(), "Offset() corrects nothing; pass voltage_v= or current_a="),
        (lambda: ld.Sweep(VOLTAGE_V, CURRENT_A, corrections=[BIAS, 3]), "corrections[1] = 3 is of type int"),
        (lambda: ld.Sweep(VOLTAGE_V, CURRENT_A, corrections=[LEADS, SENSE]), "corrections[1] is a sense resistor"),
        (lambda: ld.Calibration(voltage=([0, 1], [0, 1]), u=ld.Estimate(0.1, unit="Ω")), "and V is needed"),
        (
            lambda: ld.Sweep(VOLTAGE_V, CURRENT_A, corrections=[ld.Calibration(current=([0, 1], [0, 2]))]),
            "current_a[29] = -0.00",
        ),
    ],
)
def test_what_is_wrong_is_named(make, words):
    with pytest.raises((ld.InputError, TypeError)) as caught:
        make()
    assert words in str(caught.value)


def test_the_budget_names_what_to_improve():
    sweep = corrected(noise=ld.Noise(current_a=3e-8), area_cm2=ld.Estimate(0.25, 0.01, unit="cm²"))
    for table, first in (
        (sweep.budget("voc"), "voltage offset"),
        (sweep.budget("isc"), "sense resistor"),
        (sweep.budget("jsc"), "area"),
        (ld.fit_single_diode(sweep).budget("rs"), "lead resistance"),
    ):
        assert table.contributions[0][0] == first
        assert sum(u * u for _, u, _ in table.contributions) == pytest.approx(table.estimate.u**2, rel=1e-9)
        assert sum(share for *_, share in table.contributions) == pytest.approx(1.0)
        assert first in repr(table) and first in table._repr_html_()
        assert ld.Budget.from_json(table.to_json()) == table
    for wrong in ("rs", "x"):
        with pytest.raises(ld.InputError, match="is no key point"):
            sweep.budget(wrong)
    with pytest.raises(ld.InputError, match="efficiency has no budget"):
        sweep.budget("efficiency")


def test_repeats_are_corrected_before_their_noise_is_found():
    rng = np.random.default_rng(3)
    current = CURRENT_A + 1e-5 * rng.standard_normal((3, 30))
    voltage = np.tile(VOLTAGE_V, (3, 1))
    found = [
        ld.Sweep.from_repeats(voltage, current * ohm, corrections=[ld.SenseResistor(ohm)]).noise.current_a
        for ohm in (0.1, 1.0, 100.0)
    ]
    assert found == pytest.approx([found[1]] * 3, rel=1e-6)
    scaled = ld.Sweep(VOLTAGE_V, 100.0 * CURRENT_A, noise=ld.Noise(current_a=4e-4)).correct([ld.SenseResistor(100.0)])
    assert scaled.noise.current_a == pytest.approx(4e-6)


def sense_file(folder):
    """A file of volts over a sense resistor, as a tracer writes it."""
    rows = [f"{v:.6f};{100e3 * i:.5f}" for v, i in zip(VOLTAGE_V + 1.5, CURRENT_A, strict=True)]
    path = folder / "tracer.csv"
    path.write_text("\n".join(["V_read (V);U_sense (mV)", *rows]), encoding="utf-8")
    return path


def test_a_column_of_volts_is_a_current_over_a_sense_resistor(tmp_path):
    path = sense_file(tmp_path)
    columns = {"voltage": "V_read (V)", "current": "U_sense (mV)"}
    sweep = ld.read_sweep(path, columns=columns, corrections=[BIAS, SENSE])
    np.testing.assert_allclose(sweep.current_a, CURRENT_A, atol=1e-9)
    with pytest.raises(ld.InputError, match="current_unit="):
        ld.read_sweep(path, columns=columns, corrections=[BIAS])


def test_the_command_line_corrects(tmp_path, capsys):
    words = ["--voltage", "V_read (V)", "--current", "U_sense (mV)", "--out", str(tmp_path)]
    tracer = ["--offset-v", "1.5+-0.002", "--sense-resistor-ohm", "100±0.5", "--current-a", "3e-6"]
    assert command_line([str(sense_file(tmp_path)), *words, *tracer]) == 0
    printed = capsys.readouterr().out
    assert "5.964±0.030" in printed and "offset of 1.5000 ± 0.0020 V" in printed
    assert command_line([str(sense_file(tmp_path)), *words, "--sense-resistor-ohm", "0"]) == 1
    assert "ohm = 0 is not allowed" in capsys.readouterr().err


def test_a_number_of_the_command_line_that_is_none_is_named(tmp_path, capsys):
    with pytest.raises(SystemExit):
        command_line([str(sense_file(tmp_path)), "--offset-v", "1.5V"])
    assert "'1.5V' is no number; write 100 or 100+-0.5" in capsys.readouterr().err
