"""How often delimiter and quotes of a table are found, beside the general-purpose package clevercsv.

    pip install clevercsv && python benches/delimiters.py [COUNT] [SEED]

Draws tables of invented readings with a known delimiter, with and without quotes, lines of metadata, decimal commas
and columns of remarks. litdiode counts as right where the readings are the ones written, which takes the right
delimiter, the right quotes and more; clevercsv where it names the delimiter, and the quote where one stands in the
file.
"""

import math
import random
import statistics
import sys
import time
import warnings

import clevercsv

import litdiode as ld

MARKS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "blank"}
REMARKS = ["ok", "lamp moved", "range 2", "", "checked, fine", "hot; wait"]


def table(draw: random.Random) -> tuple[str, str, bool, list[float]]:
    """Text, delimiter, whether quotes stand in it, and the voltages."""
    mark = draw.choice(list(MARKS))
    comma = mark != "," and draw.random() < 0.4
    quoted = draw.random() < 0.5
    remarks = mark != " " and draw.random() < 0.4

    def cell(text: str, is_text: bool) -> str:
        needs = mark in text or (mark == " " and is_text and " " in text)
        return f'"{text}"' if needs or (quoted and (is_text or draw_all)) else text

    def number(x: float) -> str:
        text = f"{x:.5f}"
        return text.replace(".", ",") if comma else text

    draw_all = quoted and draw.random() < 0.5
    heads = ["Voltage_V", "Current_mA"] if mark == " " else ["Voltage (V)", "Current (mA)"]
    lines = [mark.join(cell(h, True) for h in heads + ["Remark"] * remarks)]
    isc, voc, n = draw.uniform(1, 40), draw.uniform(0.4, 0.9), draw.randint(12, 40)
    voltages = []
    for k in range(n):
        v = round(-0.05 + (voc + 0.07) * k / (n - 1), 5)
        i = isc * (1 - math.expm1(v / 0.05) / math.expm1(voc / 0.05)) + draw.gauss(0, 0.002 * isc)
        voltages.append(v)
        cells = [cell(number(v), False), cell(number(i), False)]
        lines.append(mark.join(cells + [cell(draw.choice(REMARKS), True)] * remarks))
    above = draw.sample(["Operator: invented", "Date: 2031-04-05 10:20", "Area: 0.25 cm2", "Lamp on, shutter open"], 2)
    lines = above[: draw.randint(0, 2)] + lines
    text = "\n".join(lines) + "\n"
    return text, mark, '"' in text, voltages


def ours(text: str, voltages: list[float]) -> bool:
    """Whether the voltages that were written are read."""
    try:
        found = ld.read_sweep(text.encode(), sign="generator", leads="as_given")
    except ld.LitdiodeError:
        return False
    return [float(v) for v in found.voltage_v] == voltages


def theirs(text: str, mark: str, quotes: bool) -> tuple[bool, bool]:
    """Whether the delimiter is found, and delimiter and quote."""
    try:
        dialect = clevercsv.Detector().detect(text)
    except clevercsv.exceptions.NoDetectionResult:
        dialect = None
    if dialect is None:
        return False, False
    delimiter = dialect.delimiter == mark
    return delimiter, delimiter and (dialect.quotechar == '"') == quotes


def main() -> None:
    """Print the shares and the times."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    draw = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    warnings.simplefilter("ignore")
    right, delimiter, both, taken = 0, 0, 0, ([], [])
    for _ in range(count):
        text, mark, quotes, voltages = table(draw)
        start = time.perf_counter()
        right += ours(text, voltages)
        middle = time.perf_counter()
        found = theirs(text, mark, quotes)
        taken[0].append(middle - start)
        taken[1].append(time.perf_counter() - middle)
        delimiter, both = delimiter + found[0], both + found[1]
    print(f"{count} tables")
    print(f"litdiode, readings as written    {100 * right / count:5.1f} %  {1e3 * statistics.median(taken[0]):.2f} ms")
    print(
        f"clevercsv, delimiter             {100 * delimiter / count:5.1f} %  {1e3 * statistics.median(taken[1]):.2f} ms"
    )
    print(f"clevercsv, delimiter and quote   {100 * both / count:5.1f} %")


if __name__ == "__main__":
    main()
