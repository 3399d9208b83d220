"""The trade's symbols of figures, and the unit in which a figure is shown: the efficiency in percent."""

from __future__ import annotations

from .quote import prefix_exponent, prefixed

SYMBOLS = {
    "isc": "Isc",
    "voc": "Voc",
    "pmax": "Pmax",
    "v_pmax": "V_Pmax",
    "i_pmax": "I_Pmax",
    "ff": "FF",
    "jsc": "Jsc",
    "efficiency": "η",
    "iph": "Iph",
    "i0": "I0",
    "i01": "I01",
    "i02": "I02",
    "n": "n",
    "n1": "n1",
    "n2": "n2",
    "rs": "Rs",
    "rsh": "Rsh",
}


#: Parameters of a fit by the diodes of its model.
PARAMETERS: dict[int, tuple[str, ...]] = {
    0: (),
    1: ("iph", "i0", "n", "rs", "rsh"),
    2: ("iph", "i01", "n1", "i02", "n2", "rs", "rsh"),
}


def shown_unit(figure: str, unit: str, size: float) -> tuple[float, str]:
    """What a value is divided by to be shown, and the unit that it then has: `(1e-3, "mA")`; "" for a plain number."""
    if figure == "efficiency":
        return 0.01, "%"
    power = prefix_exponent(size, unit) if unit not in ("", "1") else 0
    return 10.0**power, prefixed(unit, power)


def heading(figure: str, unit: str) -> str:
    """Symbol and unit over a column or along an axis: `Jsc / mA/cm²` as `Jsc / (mA/cm²)`."""
    symbol = SYMBOLS.get(figure, figure)
    if not unit:
        return symbol
    return f"{symbol} / ({unit})" if "/" in unit else f"{symbol} / {unit}"
