"""Several groups and batches in a study: verdicts that hold together, and batches that count as what was repeated."""

import numpy as np
import pytest

import litdiode as ld
from litdiode.plots import plot_comparisons
from litdiode.study.group import common_variance, shared_parts
from litdiode.study.verdicts import sentence

CELL = ld.SingleDiode(iph_a=0.02, i0_a=1e-9, n=1.4, rs_ohm=1.0, rsh_ohm=900)  # invented


def sweep(scale: float) -> ld.Sweep:
    voltage_v = np.linspace(-0.05, 0.66, 20)
    return ld.Sweep(voltage_v, scale * CELL.current(voltage_v), sign="generator", leads="as_given")


def sweeps(seed: int, count: int) -> list[ld.Sweep]:
    return [sweep(scale) for scale in 1 + 0.03 * np.random.default_rng(seed).standard_normal(count)]


def test_the_pairs_of_a_figure_share_its_level() -> None:
    study = ld.Study(sweeps(1, 15), groups=[name for name in "ABC" for _ in range(5)])
    found = study.comparisons()
    assert [(one.first, one.second) for one in found] == [("A", "B"), ("A", "C"), ("B", "C")]
    for one in found:
        alone = ld.compare(study.groups[one.first], study.groups[one.second], "pmax", level=1 - 0.05 / 3)
        assert one.level == pytest.approx(1 - 0.05 / 3) and (one.low, one.high) == (alone.low, alone.high)
    assert plot_comparisons(found).get_title(loc="left") == "98.33 % intervals"
    assert "(98.33 % interval)" in sentence(found[0])
    against = ld.Study(study.sweeps, groups=list(study.membership), reference="A").comparisons()
    assert [one.level for one in against] == [pytest.approx(0.975)] * 2
    two = ld.Study(study.sweeps[:10], groups=["A"] * 5 + ["B"] * 5).comparisons()
    assert [one.level for one in two] == [pytest.approx(0.95)]


def test_batches_are_what_was_repeated(tmp_path) -> None:
    for k, one in enumerate(sweeps(2, 12)):
        rows = zip(one.voltage_v, one.current_a, strict=True)
        text = "V (V),I (A)\n" + "".join(f"{v:.6f},{i:.9f}\n" for v, i in rows)
        recipe, batch = "AB"[k // 6], "xyz"[k % 3]
        (tmp_path / f"{recipe}_{batch}_{k}.csv").write_text(text)
    study = ld.Study(ld.read_sweeps(tmp_path, pattern="{group}_{batch}_{label}.csv"))
    # In the order of the files' names.
    assert study.groups["A"].batch == study.groups["B"].batch == tuple("xxyyzz")
    (one,) = study.comparisons()
    assert one.batches == (3, 3) and one.cells == (6, 6)
    alone = ld.compare(study.groups["A"], study.groups["B"], "pmax")
    assert (one.verdict, one.low, one.p_welch) == ("undecided", alone.low, alone.p_welch)
    assert f"about {one.cells_needed} batches a recipe would be needed" in sentence(one)


def test_what_cells_share_is_found_however_many_there_are() -> None:
    """One lamp common to all, a mask common to each half: by hand."""
    lamp, masks = ld.Estimate(1.0, 0.02), (ld.Estimate(1.0, 0.03), ld.Estimate(1.0, 0.03))
    for n in (2, 6, 40, 200):
        cells = [lamp * masks[k >= n // 2] * ld.Estimate(1.0, 0.01) for k in range(n)]
        alone = 0.02**2 + 2 * (0.5**2 * 0.03**2) if n > 2 else 0.02**2
        assert common_variance(cells, [1 / n] * n) == pytest.approx(alone, rel=1e-6 if n > 2 else 1.0)
        if n > 4:
            assert shared_parts(cells)[0] == pytest.approx(0.02**2 + 0.03**2, rel=1e-6)
    # A figure without a ± says nothing of what is shared, and takes nothing from the others.
    some = [lamp * ld.Estimate(1.0, 0.01), lamp * ld.Estimate(1.0, 0.01), ld.Estimate(1.0)]
    assert common_variance(some, [1 / 3] * 3) == pytest.approx(4 / 9 * 0.02**2, rel=1e-6)


def test_one_cell_does_not_count_twice() -> None:
    first, second, third, fourth = sweeps(3, 4)
    again = ld.Sweep(first.voltage_v, first.current_a, sign="generator", leads="as_given")
    with pytest.raises(ld.InputError, match=r"members\[2\] of 'A' is members\[0\] of 'A' again"):
        ld.Group("A", [first, second, again]).summary("pmax")
    a = ld.Group("A", [first, second])
    with pytest.raises(ld.InputError, match=r"members\[1\] of 'B' is members\[0\] of 'A' again"):
        ld.compare(a, ld.Group("B", [third, again]), "pmax")
    with pytest.raises(ld.InputError, match="both groups are called 'A'"):
        ld.compare(a, ld.Group("A", [third, fourth]), "pmax")
    # Equal numbers of two cells are no repeat.
    assert ld.Group("A", [0.08, 0.08, 0.081]).summary("efficiency").n == 3


def test_a_verdict_names_the_cells_that_it_is_without() -> None:
    cells = sweeps(4, 6)
    short = ld.Sweep(cells[0].voltage_v[:12], 0.99 * cells[0].current_a[:12], label="short one", sign="generator")
    study = ld.Study([*cells, short], groups=["A"] * 3 + ["B"] * 4, figures=["voc"])
    (one,) = study.comparisons()
    assert study.left_out(one) == ["short one"] and one.cells == (3, 3)
    assert sentence(one, study.left_out(one)).endswith("; without short one, which have no Voc")
    # Three readings make no fit.
    few = ld.Sweep([0.0, 0.3, 0.6], [0.02, 0.0195, -0.001], label="few", sign="generator")
    fitted = ld.Study([*cells, few], groups=["A"] * 3 + ["B"] * 4, figures=["rs"], diodes=1)
    (one,) = fitted.comparisons()
    assert fitted.left_out(one) == ["few"] and one.cells == (3, 3)


def test_a_dark_sweep_of_a_study_is_taken_for_one() -> None:
    voltage_v = np.linspace(-0.5, 0.6, 30)
    dark = ld.Sweep(
        voltage_v, -1e-9 * np.expm1(voltage_v / 0.036) - voltage_v / 900, sign="generator", leads="as_given"
    )
    study = ld.Study([*sweeps(5, 1), dark], resistances=True)
    lit, own = study.resistances
    assert lit.dark is None and own.lit is None
    row = own.get("shunt", "dark ohmic region")
    assert row is not None and row.resistance.value == pytest.approx(900, rel=0.02)


def test_lifetimes_of_different_questions_are_not_mixed() -> None:
    hours = list(range(0, 500, 25))
    falls = [0.06 * np.exp(-t / 900) + 1e-4 * np.sin(7 * k * k) for k, t in enumerate(hours)]  # invented
    cells = [ld.ageing(hours, falls, share=share) for share in (0.95, 0.8)]
    with pytest.raises(ld.InputError, match=r"time_h\[1\] has share 0.8 and time_h\[0\] 0.95"):
        ld.survival(cells)
    with pytest.raises(ld.InputError, match=r"time_h\[1\] is time_h\[0\] again"):
        ld.survival([cells[0], cells[0]])
