"""Tidy tables: one convention for figures of every kind, labels kept, nothing missing without its reason."""

from __future__ import annotations

import math

import numpy as np
import pytest

import litdiode as ld

pytest.importorskip("pandas")
CELL = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented


def measured(label: str | None, swept: str = "voltage", seed: int = 1) -> ld.Sweep:
    raw = ld.simulate_sweep(CELL, ld.Instrument(noise_current_a=2e-5), seed=seed)
    return ld.Sweep(raw.voltage_v, raw.current_a, swept=swept, label=label)


SHORT = ld.Sweep([0.0, 0.1, 0.2, 0.3, 0.4], [0.03, 0.03, 0.0299, 0.0295, 0.029], label="short")


def test_key_points_with_labels_units_and_reasons() -> None:
    rows = ld.key_points_many([measured("a"), SHORT])
    found = rows.tidy()
    assert list(found.columns) == ["label", "figure", "value", "u", "unit", "remark"]
    assert list(dict.fromkeys(found["label"])) == ["a", "short"] and len(found) == 16
    isc = found.query("label == 'a' and figure == 'isc'").iloc[0]
    assert (isc["value"], isc["u"], isc["unit"]) == (rows[0].isc.value, rows[0].isc.u, "A")
    voc = found.query("label == 'short' and figure == 'voc'").iloc[0]
    assert math.isnan(voc["value"]) and voc["remark"] == rows[1].absent["voc"]
    assert not (found["value"].isna() & (found["remark"] == "")).any(), "nothing lacks without its reason"


def test_labels_survive_in_wide_frames() -> None:
    sweeps = [measured("a"), measured("b", seed=2)]
    for rows in (ld.key_points_many(sweeps), ld.fit_many(sweeps)):
        assert list(rows.frame().index) == ["a", "b"] and list(rows[1:].frame().index) == ["b"]
    assert list(ld.key_points_many([measured("a"), measured(None)]).frame().index) == [0, 1]


def test_the_rms_of_a_fit_has_its_unit() -> None:
    fits = ld.fit_many([measured("v"), measured("i", "current"), ld.Sweep([0.1, 0.2, 0.3], [0.03, 0.02, 0.01])])
    assert list(fits.columns()["rms_unit"]) == ["A", "V", ""]
    assert [fits[k].residual for k in (0, 1)] == ["current", "voltage"]
    found = fits.tidy()
    assert list(found.query("figure == 'rms'")["unit"]) == ["A", "V", ""]
    both = ld.Noise(voltage_v=1e-3, current_a=1e-5)
    sweep = measured("n")
    near = ld.Sweep(sweep.voltage_v, sweep.current_a, noise=both)
    assert list(ld.fit_many([near]).columns()["rms_unit"]) == ["1"]
    columns = list(fits.columns())
    assert columns[columns.index("rms") + 1] == "rms_unit"


def test_fits_say_what_is_not_determined() -> None:
    v = np.linspace(-0.1, 0.3, 12)
    flat = ld.Sweep(v, 0.03 - 1e-5 * v, label="flat")
    found = ld.fit_many([measured("a"), flat, ld.Sweep([0.1, 0.2, 0.3], [0.03, 0.02, 0.01], label="few")]).tidy()
    assert list(found["figure"][:6]) == ["iph", "i0", "n", "rs", "rsh", "rms"]
    assert (found.query("label == 'a'")["remark"] == "").all()
    assert found.query("label == 'flat'")["remark"].str.contains("not identified|at bound").any()
    assert (found.query("label == 'few'")["remark"] != "").all() and found.query("label == 'few'")["value"].isna().all()


def test_methods_side_by_side() -> None:
    for found in (ld.resistances(measured("a")), ld.maximum_powers(measured("a"))):
        rows = found.tidy()
        assert list(rows.columns) == ["label", "figure", "method", "value", "u", "unit", "remark"]
        assert set(rows["label"]) == {"a"} and not (rows["value"].isna() & (rows["remark"] == "")).any()
        assert (rows["method"] == "quoted").sum() == rows["figure"].nunique()
    quoted = ld.resistances(measured("a")).tidy().query("method == 'quoted' and figure == 'rs'").iloc[0]
    assert quoted["value"] == ld.resistances(measured("a")).quote["series"].resistance.value and quoted["unit"] == "Ω"
