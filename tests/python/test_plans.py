"""Plans of set points: against the bound of Elfving's theorem by linear programming, and information by differences."""

from __future__ import annotations

import numpy as np
import pytest

import litdiode as ld

DYE = {"iph_a": 604e-6, "i0_a": 1.7e-9, "n": 1.9, "rs_ohm": 62.0, "rsh_ohm": 9300.0}  # invented
SILICON = {"iph_a": 35e-3, "i0_a": 1.6e-10, "n": 1.25, "rs_ohm": 0.53, "rsh_ohm": 3366.0}  # invented
LOSSY = {"iph_a": 10e-3, "i0_a": 5e-10, "n": 1.5, "rs_ohm": 19.5, "rsh_ohm": 5200.0}  # invented
NAMES = ("iph_a", "i0_a", "n", "rs_ohm", "rsh_ohm")
NOISE = 5e-3


def by_differences(cell, figure, step=1e-5):
    """Derivatives by the logarithms of the parameters: central differences of whatever `figure` takes of a device."""
    rows = []
    for name in NAMES:
        up, down = (ld.SingleDiode(**cell | {name: cell[name] * (1 + s)}) for s in (step, -step))
        rows.append((np.asarray(figure(up)) - np.asarray(figure(down))) / (2 * step))
    return np.array(rows).T


def target_of(name):
    if name in ("rs", "n", "rsh"):
        return lambda m: getattr(m, {"rs": "rs_ohm", "n": "n", "rsh": "rsh_ohm"}[name])
    return lambda m: getattr(m.key_points(), name).value


def reading(swept, set_points):
    return lambda m: m.current(set_points) if swept == "voltage" else m.voltage(set_points)


def bound_of(rows, c):
    """√n·u of the best design: min Σ|a| with Σ aᵢ·gᵢ = c (G. Elfving, Ann. Math. Stat. 23 (1952) 255)."""
    from scipy.optimize import linprog

    scale = np.linalg.norm(rows, axis=0)
    a, b = (rows / scale).T, c / scale
    # The tolerances of the solver are absolute.
    size = np.max(np.abs(b)) / np.max(np.abs(a))
    found = linprog(np.ones(2 * len(rows)), A_eq=np.hstack([a, -a]), b_eq=b / size, bounds=(0, None))
    assert found.status == 0
    return found.fun * size


@pytest.mark.parametrize("cell", [DYE, SILICON, LOSSY], ids=["dye", "silicon", "lossy"])
@pytest.mark.parametrize("swept", ["voltage", "current"])
@pytest.mark.parametrize("target", ["ff", "pmax", "voc", "isc", "rs", "n"])
def test_a_plan_comes_near_the_bound_of_elfving(cell, swept, target):
    pytest.importorskip("scipy")
    model = ld.SingleDiode(**cell)
    points = model.key_points()
    sigma = NOISE * (points.isc.value if swept == "voltage" else points.voc.value)
    noise = ld.Noise(current_a=sigma) if swept == "voltage" else ld.Noise(voltage_v=sigma)
    plan = ld.plan_sweep(model, 25, swept=swept, noise=noise, target=target, spread=0)
    c = by_differences(cell, target_of(target))
    rows = by_differences(cell, reading(swept, plan.set_points)) / sigma
    # The same u from differences of the forward model.
    scale = np.linalg.norm(rows, axis=0)
    u = np.sqrt(c / scale @ np.linalg.solve((rows / scale).T @ (rows / scale), c / scale))
    assert u == pytest.approx(plan.figures[target].u, rel=1e-3)
    low, high = (-0.05, 1.05) if swept == "voltage" else (0.0, float(model.current(-0.05 * points.voc.value)))
    if swept == "voltage":
        low, high = low * points.voc.value, high * points.voc.value
    # Equal steps of both axes.
    other = model.current if swept == "voltage" else model.voltage
    back = model.voltage if swept == "voltage" else model.current
    grid = np.union1d(np.linspace(low, high, 1000), back(np.linspace(other(low), other(high), 1000)))
    best = bound_of(by_differences(cell, reading(swept, grid)) / sigma, c) / np.sqrt(25)
    assert 0.995 * best < plan.figures[target].u < NEAR * best, plan.figures[target].u / best


# What whole numbers of points and the term that determines all parameters cost.
NEAR = 1.1


def test_a_plan_stands_beside_equal_steps():
    model = ld.SingleDiode(**DYE)
    plan = ld.plan_sweep(model, noise=ld.Noise(current_a=6e-6), spread=0)
    assert plan.equal_voltage["ff"].u > 1.45 * plan.figures["ff"].u
    assert plan.equal_current["ff"].u > 2.1 * plan.figures["ff"].u
    assert list(plan.figures) == ["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff", "iph", "i0", "n", "rs", "rsh"]
    assert plan.figures["rs"].unit == "Ω" and plan.figures["rs"].value == pytest.approx(62.0)
    assert len(plan) == 25 and plan.target == "ff" and plan.swept == "voltage" and "1." in str(plan)
    [(points, u, voltage, current)] = plan.at_points([25])
    assert (points, u) == (25, plan.figures["ff"].u)
    assert (voltage, current) == (plan.equal_voltage["ff"].u, plan.equal_current["ff"].u)
    same = plan.figures_of(model)
    assert same["ff"].u == plan.figures["ff"].u
    assert ld.Plan.from_json(plan.to_json()) == plan


def test_the_points_of_a_plan_can_be_measured_and_fitted():
    model = ld.SingleDiode(**DYE)
    noise = ld.Noise(current_a=2e-6)
    plan = ld.plan_sweep(model, noise=noise, step=0.001)
    assert np.allclose(plan.set_points / 0.001, np.round(plan.set_points / 0.001))
    scatter = noise.current_a * np.random.default_rng(1).standard_normal(25)
    fit = ld.fit_single_diode(ld.Sweep(plan.set_points, model.current(plan.set_points) + scatter, noise=noise))
    assert fit.key_points().ff.u == pytest.approx(plan.figures["ff"].u, rel=0.1)
    # A plan from the fit has its noise.
    following = ld.plan_sweep(fit)
    assert following.noise.current_a == 2e-6
    assert following.figures_of(model)["ff"].u < 1.1 * plan.figures["ff"].u


def test_limits_are_a_dictionary():
    model, noise = ld.SingleDiode(**DYE), ld.Noise(current_a=6e-6)
    plan = ld.plan_sweep(model, noise=noise, limits={"voltage_v": (0, None), "current_a": (0, None), "power_w": 1.8e-4})
    power = plan.voltage_v * plan.current_a
    assert plan.voltage_v.min() >= 0 and plan.current_a.min() >= 0 and power.max() <= 1.8e-4
    for wrong in ({"volts": (0, 1)}, {"voltage_v": 1}, {"power_w": "x"}, {"voltage_v": (1, 0)}):
        with pytest.raises(ld.InputError, match=r"limits"):
            ld.plan_sweep(model, noise=noise, limits=wrong)


def test_the_points_needed_are_counted():
    model, noise = ld.SingleDiode(**DYE), ld.Noise(current_a=6e-6)
    needed = ld.points_needed(model, 0.006, noise=noise, spread=0)
    assert needed.planned < needed.equal_voltage < needed.equal_current
    plan = ld.plan_sweep(model, needed.planned, noise=noise, spread=0)
    assert plan.figures["ff"].u / plan.figures["ff"].value <= 0.006
    assert ld.PointsNeeded.from_json(needed.to_json()) == needed and "planned points" in str(needed)


def test_a_list_and_two_diodes():
    two = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=2e-7, n2=2, rs_ohm=0.6, rsh_ohm=2000)
    noise = ld.Noise(current_a=1e-4)
    plan = ld.plan_sweep([two, two.at(irradiance_w_m2=800)], noise=noise, target="i02", fix=["n1", "n2"])
    assert plan.figures["i02"].u < plan.equal_voltage["i02"].u and "n1" not in plan.figures
    with pytest.raises(ld.InputError, match="n3"):
        ld.plan_sweep(two, noise=noise, fix="n3")
    with pytest.raises(ld.InputError, match="empty"):
        ld.plan_sweep([], noise=noise)


def numbers_at(ax):
    return [int(text.get_text()) for text in ax.texts]


def repeats(counts):
    found = [int(count) for count in counts if count > 1]
    assert found
    return found


def test_the_picture_has_the_plan_and_the_points():
    matplotlib = pytest.importorskip("matplotlib")
    matplotlib.use("Agg")
    plan = ld.plan_sweep(ld.SingleDiode(**DYE), 12, noise=ld.Noise(current_a=6e-6))
    left, right = plan.plot(points=[8, 12, 20])
    drawn = left.get_lines()[2].get_xydata()
    assert np.allclose(drawn[:, 0], np.unique(plan.set_points))
    # Set points nearer to each other than 2 % of the axis have one number.
    ordered = np.sort(plan.set_points)
    apart = np.flatnonzero(np.diff(ordered) > 0.02 * np.ptp(ordered)) + 1
    assert numbers_at(left) == repeats(len(group) for group in np.split(ordered, apart))
    coarse = ld.plan_sweep(ld.SingleDiode(**DYE), 12, noise=ld.Noise(current_a=6e-6), step=0.05)
    upper, _ = coarse.plot(points=[12])
    assert numbers_at(upper) == repeats(np.unique(coarse.set_points, return_counts=True)[1])
    planned, voltage, current = right.get_lines()[:3]
    assert list(planned.get_xdata()) == [8, 12, 20]
    assert np.all(planned.get_ydata() < voltage.get_ydata()) and np.all(np.diff(current.get_ydata()) < 0)
