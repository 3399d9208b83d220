"""Arrays of parameters: every entry is what the scalar model gives, to the bit, in any shape and on any threads."""

from __future__ import annotations

import csv
import pickle
from pathlib import Path

import numpy as np
import pytest

import litdiode as ld

TRUTH = Path(__file__).parents[1] / "data" / "diode_truth.csv"


def invented(shape: tuple[int, ...], seed: int = 0) -> dict[str, np.ndarray]:
    """Invented devices, some without a shunt, a series resistance or light."""
    rng = np.random.default_rng(seed)
    size = int(np.prod(shape))
    pick = np.arange(size)
    return {
        "iph_a": np.where(pick % 17 == 3, 0.0, 10 ** rng.uniform(-4, 1, size)).reshape(shape),
        "i0_a": (10 ** rng.uniform(-14, -6, size)).reshape(shape),
        "n": rng.uniform(0.8, 2.5, size).reshape(shape),
        "rs_ohm": np.where(pick % 13 == 5, 0.0, 10 ** rng.uniform(-3, 1, size)).reshape(shape),
        "rsh_ohm": np.where(pick % 11 == 7, np.inf, 10 ** rng.uniform(1, 6, size)).reshape(shape),
        "temperature_c": rng.uniform(-20, 80, size).reshape(shape),
    }


def bits(x: object) -> np.ndarray:
    return np.asarray(x, dtype=float).view(np.uint64)


def same(a: object, b: object) -> None:
    np.testing.assert_array_equal(bits(np.ascontiguousarray(a)), bits(np.ascontiguousarray(b)))


@pytest.mark.parametrize("method", ["current", "voltage", "power", "slope"])
def test_each_entry_is_that_of_the_scalar_model(method: str) -> None:
    given = invented((501,))
    cells = ld.SingleDiode(**given)
    assert isinstance(cells, ld.SingleDiodes)
    x = np.random.default_rng(1).uniform(-1, 0.9, 501) * (0.1 if method == "voltage" else 1.0)
    alone = [getattr(cells[k], method)(float(x[k])) for k in range(501)]
    same(getattr(cells, method)(x), alone)
    one = ld.SingleDiode(**{name: float(values[4]) for name, values in given.items()})
    assert one == cells[4]
    same(getattr(one, method)(x), [getattr(one, method)(float(v)) for v in x])


def test_two_diodes_as_the_scalar_model() -> None:
    given = invented((203,), 5)
    i0, n = given.pop("i0_a"), given.pop("n")
    cells = ld.DoubleDiode(i01_a=i0, n1=np.ones(203), i02_a=100 * i0, n2=2.0, **given)
    assert isinstance(cells, ld.DoubleDiodes) and n.size == len(cells) == 203
    same(cells.current(0.4), [cells[k].current(0.4) for k in range(203)])
    same(cells.voltage(1e-3), [cells[k].voltage(1e-3) for k in range(203)])
    points = cells.key_points()
    same(points.pmax, [cells[k].key_points().pmax.value for k in range(203)])


def test_key_points_as_the_scalar_model() -> None:
    cells = ld.SingleDiode(**invented((7, 43), 2))
    points = cells.key_points()
    for place in np.ndindex(7, 43):
        alone = cells[place].key_points()
        for name, figures in points.columns().items():
            estimate = getattr(alone, name)
            if estimate is None:
                assert name == "ff" and np.isnan(figures[place]) and cells[place].iph_a == 0.0
            elif name == "ff":
                np.testing.assert_allclose(figures[place], estimate.value, rtol=4e-16)
            else:
                same(figures[place], estimate.value)
    assert points.frame().shape == (301, 6)
    again = pickle.loads(pickle.dumps(points))
    same(again.voc, points.voc)
    assert "isc" in repr(points)


def test_rows_of_the_exact_table() -> None:
    """The table of mpmath as one batch; 4 ε of its own error scale."""
    with TRUTH.open() as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    for kind, call in (("current", "current"), ("voltage", "voltage")):
        chosen = [r for r in rows if r["kind"] == kind and r["diodes"] == "1"]
        column = {
            name: np.array([float(r[name] or "nan") for r in chosen])
            for name in ("iph_a", "i01_a", "n1", "rs_ohm", "rsh_ohm", "cells", "temperature_c", "x", "value", "scale")
        }
        cells = ld.SingleDiode(
            iph_a=column["iph_a"],
            i0_a=column["i01_a"],
            n=column["n1"],
            rs_ohm=column["rs_ohm"],
            rsh_ohm=column["rsh_ohm"],
            cells=column["cells"],
            temperature_c=column["temperature_c"],
        )
        got, want = getattr(cells, call)(column["x"]), column["value"]
        finite = np.isfinite(want) & np.isfinite(column["scale"])
        np.testing.assert_array_equal(got[~finite], want[~finite])
        error = np.abs(got[finite] - want[finite]) / (2.0**-52 * column["scale"][finite] + np.finfo(float).tiny)
        assert len(error) > 300 and error.max() < 4.0


@pytest.mark.parametrize(
    ("parameters", "points"),
    [
        ((), ()),
        ((3,), ()),
        ((), (4,)),
        ((3,), (3,)),
        ((5, 1), (40,)),
        ((2, 1, 3), (4, 1)),
        ((70, 1), (200,)),
        ((1, 3), (9, 1)),
        ((3,), (0, 3)),
        ((0,), ()),
        ((1,), ()),
        ((2, 3, 4), (2, 3, 4)),
        ((65,), (65,)),
        ((2, 1), (1, 17)),
    ],
)
def test_shapes_broadcast_as_in_numpy(parameters: tuple[int, ...], points: tuple[int, ...]) -> None:
    rng = np.random.default_rng(3)
    iph = np.asarray(rng.uniform(0.01, 0.04, parameters))
    v = np.asarray(rng.uniform(-0.1, 0.7, points))
    fixed = {"i0_a": 2e-9, "n": 1.45, "rs_ohm": 1.0, "rsh_ohm": 800.0}
    cells = ld.SingleDiode(iph_a=iph if parameters else float(iph), **fixed)
    got = cells.current(v)
    wide_iph, wide_v = np.broadcast_arrays(iph, v)
    assert np.shape(got) == wide_iph.shape
    want = [
        ld.SingleDiode(iph_a=float(i), **fixed).current(float(x))
        for i, x in zip(wide_iph.flat, wide_v.flat, strict=True)
    ]
    same(got, np.reshape(want, wide_iph.shape))


def test_any_memory_layout() -> None:
    base = invented((30, 40), 9)
    v = np.random.default_rng(4).uniform(-0.5, 0.7, (60, 80))
    plain = ld.SingleDiode(**base).current(np.ascontiguousarray(v[::2, ::2]))
    fortran = ld.SingleDiode(**{name: np.asfortranarray(x) for name, x in base.items()})
    same(fortran.current(v[::2, ::2]), plain)
    same(fortran.current(np.asfortranarray(v[::2, ::2])), plain)
    back = ld.SingleDiode(**{name: x[::-1, ::-1] for name, x in base.items()})
    same(back.current(v[::2, ::2][::-1, ::-1]), plain[::-1, ::-1])
    one = ld.SingleDiode(iph_a=0.03, i0_a=2e-9, n=1.45, rs_ohm=1.0, rsh_ohm=800.0)
    same(one.current(v.T[::3]), one.current(v)[:, ::3].T)
    same(one.current(v.astype(np.float32)), one.current(v.astype(np.float32).astype(float)))


def test_threads_and_length_change_no_bit() -> None:
    rng = np.random.default_rng(8)
    v = rng.uniform(-1, 0.8, 100_003)
    one = ld.SingleDiode(iph_a=0.03, i0_a=2e-9, n=1.45, rs_ohm=1.0, rsh_ohm=800.0)
    many = ld.SingleDiode(**invented((100_003,), 6))
    for cells in (one, many):
        whole = cells.current(v)
        for threads in (2, 3, None):
            same(cells.current(v, threads=threads), whole)
        same(one.current(v[17:4000]), one.current(v)[17:4000])
    same(many.key_points(threads=3).pmax, many.key_points().pmax)
    with pytest.raises(ld.InputError, match="threads = 0 must be 1 or more"):
        one.current(v, threads=0)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"iph_a": [0.03, -1.0, -2.0]}, r"^iph_a\[1\] = -1 is outside 0 to"),
        ({"rs_ohm": [[0.1], [np.nan]]}, r"^rs_ohm\[1, 0\] = NaN is outside"),
        ({"n": -1.0}, r"^n = -1 is outside"),
        ({"cells": [1, 0, 2]}, r"^cells\[1\] = 0 is outside 1 to"),
        ({"cells": [1, 1.5, 2]}, r"^cells\[1\] = 1.5"),
        ({"rsh_ohm": [1.0, 2.0]}, r"^rsh_ohm of shape \(2,\) does not go with \(3,\)"),
        ({"temperature_c": ["a", 1.0, 2.0]}, r"^temperature_c\[0\] = 'a' is not a number"),
    ],
)
def test_a_bad_parameter_is_named_with_its_place(change: dict[str, object], text: str) -> None:
    good = {"iph_a": [0.03, 0.03, 0.03], "i0_a": 2e-9, "n": 1.45, "rs_ohm": 1.0, "rsh_ohm": 800.0}
    with pytest.raises(ld.InputError, match=text):
        ld.SingleDiode(**{**good, **change})


def test_batches_travel_and_show_themselves() -> None:
    cells = ld.SingleDiode(iph_a=[0.03, 0.04], i0_a=2e-9, n=1.45, rs_ohm=1.0, rsh_ohm=[800.0, np.inf])
    assert pickle.loads(pickle.dumps(cells)) == cells and ld.SingleDiodes.from_json(cells.to_json()) == cells
    assert cells.shape == (2,) and cells.size == len(cells) == 2 and len(list(cells)) == 2
    assert cells.n == 1.45 and cells.rsh_ohm[1] == np.inf and cells[-1].iph_a == 0.04
    assert repr(cells).startswith("SingleDiodes(shape=[2], iph_a=<2 of 0.03 to 0.04>")
    with pytest.raises(IndexError):
        cells[2]
    with pytest.raises(ld.InputError, match=r"voltage_v of shape \(3,\) does not go with \(2,\)"):
        cells.current([0.1, 0.2, 0.3])
    with pytest.raises(ld.InputError, match=r"voltage_v\[1\] = NaN"):
        cells.current([0.1, np.nan])


def test_more_places_than_a_machine_can_count_are_an_error() -> None:
    """Five axes of 8192 make 2⁶⁵ places: a number that wraps around to 0 in 64 bits."""
    axes = [np.full([8192 if axis == k else 1 for axis in range(5)], x) for k, x in enumerate([1, 1e-9, 1, 0, 100])]
    names = ["iph_a", "i0_a", "n", "rs_ohm", "rsh_ohm"]
    with pytest.raises(ld.InputError, match=r"8192, 8192, 8192, 8192, 8192.*more places"):
        ld.SingleDiode(**dict(zip(names, axes, strict=True)))


def test_key_points_without_room_are_a_memory_error() -> None:
    """4·10¹¹ devices of six figures: 19 TB."""
    many = ld.SingleDiode(iph_a=np.ones((200_000, 1)), i0_a=np.full((1, 2_000_000), 1e-9), n=1, rs_ohm=0, rsh_ohm=1)
    with pytest.raises(MemoryError, match="in parts"):
        many.key_points()
    with pytest.raises(ld.InputError, match="more places"):
        ld.SingleDiode(
            iph_a=1,
            i0_a=1e-9,
            n=np.ones((200_000, 1)),
            temperature_c=np.full((1, 2_000_000), 25.0),
            rs_ohm=0,
            rsh_ohm=1,
        )


def test_the_fill_factor_of_a_hardly_lit_device_is_a_number() -> None:
    """Isc·Voc is below what f64 holds: FF of a resistor with light on it is ¼ all the same."""
    cells = ld.SingleDiode(iph_a=np.full(3, 1e-200), i0_a=1e-210, n=1.2, rs_ohm=0.0, rsh_ohm=1e3)
    np.testing.assert_allclose(cells.key_points().ff, 0.25, rtol=1e-9)
