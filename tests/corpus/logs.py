"""Logs that name each number, and JSON."""

import json
from collections.abc import Iterator

from parts import CorpusFile, Draw, Expected, Sweep, comma, made, one

FORMS = [
    "V={v} I={i}",
    "V={v}, I={i}",
    "V = {v} V; I = {i} {u}",
    "V: {v} V; I: {i} {u}",
    "voltage={v}V current={i}{u}",
    "U={v}V I={i}{u}",
    "Voltage: {v} V, Current: {i} {u}",
    "V={v}\tI={i}",
    "I={i} V={v}",
    "V[V]={v} I[{u}]={i}",
]

STAMPS = ["14:07:{:02d} ", "2031-05-17 14:07:{:02d}.125 ", "[14:07:{:02d}] ", "2031-05-17T14:07:{:02d}Z INFO "]
KEYS = [("voltage_v", "current_a"), ("voltage (V)", "current (mA)"), ("V", "I"), ("voltage_V", "current_A")]


def log_sweep(draw: Draw, form: str) -> Sweep:
    """A sweep in V and A where the form shows no unit."""
    return draw.sweep() if "{u}" in form else draw.sweep("silicon", i_unit="A")


def named(form: str, s: Sweep) -> list[str]:
    """Each reading in the form of the log."""
    return [form.format(v=v, i=i, u=s.i_unit) for v, i in zip(s.v.texts, s.i.texts, strict=True)]


def plain(draw: Draw, k: int) -> CorpusFile:
    """Nothing but readings."""
    form = FORMS[k % len(FORMS)]
    s = log_sweep(draw, form)
    return one("plain.log", named(form, s), s.expected())


def stamped(draw: Draw, k: int) -> CorpusFile:
    """A time in front of each reading."""
    form = FORMS[(3 * k) % len(FORMS)]
    s = log_sweep(draw, form)
    stamp = STAMPS[k % len(STAMPS)]
    lines = [stamp.format(j % 60) + line for j, line in enumerate(named(form, s))]
    return one("stamped.log", lines, s.expected())


def chatty(draw: Draw, k: int) -> CorpusFile:
    """Other lines of the log before, between and after."""
    form = FORMS[k % len(FORMS)]
    s = log_sweep(draw, form)
    lines = named(form, s)
    lines.insert(len(lines) // 2, "range changed")
    if k % 2:
        lines.insert(4, "settling ...")
    lines = ["source on", "shutter open", *lines, "shutter closed", "done"]
    if k % 3 == 2:
        lines = [f"14:07:{j % 60:02d} {line}" for j, line in enumerate(lines)]
    return one("chatty.log", lines, s.expected())


def german(draw: Draw, k: int) -> CorpusFile:
    """A log with decimal commas."""
    s = draw.sweep("silicon", i_unit=["A", "mA"][k % 2], digits=5)
    form = ["U = {v} V; I = {i} {u}", "Spannung: {v} V; Strom: {i} {u}"][k % 2]
    pairs = zip(comma(s.v.texts), comma(s.i.texts), strict=True)
    return one("german.log", [form.format(v=v, i=i, u=s.i_unit) for v, i in pairs], s.expected())


def json_lines(draw: Draw, k: int) -> CorpusFile:
    """One object a line."""
    s = draw.sweep("organic", i_unit="A" if k % 4 < 2 else "mA")
    v_key, i_key = [("voltage_v", "current_a"), ("V", "I"), ("voltage_V", "current_mA"), ("V (V)", "I (mA)")][k % 4]
    lines = []
    for j, (v, i) in enumerate(zip(s.v.texts, s.i.texts, strict=True)):
        body = f'"{v_key}": {v}, "{i_key}": {i}'
        lines.append(f'{{"n": {j}, {body}}}' if k % 2 else f"{{{body}}}")
    return one("lines.jsonl", lines, s.expected())


def json_object(draw: Draw, k: int) -> CorpusFile:
    """One object with arrays, with metadata beside them or above; printed in one line or in many."""
    unit = ["A", "mA", "A", "A"][k % 4]
    s = draw.sweep("organic", i_unit=unit)
    v, i = [float(t) for t in s.v.texts], [float(t) for t in s.i.texts]
    v_key, i_key = KEYS[k % len(KEYS)]
    content = {"sample": "Q7", "area_cm2": 0.25, v_key: v, i_key: i}
    data = json.dumps(content, indent=[None, 1][k % 2])
    return one("object.json", data.split("\n"), s.expected("Q7", area_cm2=0.25))


def json_records(draw: Draw, k: int) -> CorpusFile:
    """A list of objects, or an object that holds such a list."""
    s = draw.sweep("silicon", i_unit="A")
    records = [{"voltage_v": float(v), "current_a": float(i)} for v, i in zip(s.v.texts, s.i.texts, strict=True)]
    content = {"label": "Q8", "points": records} if k % 2 else records
    return one("records.json", json.dumps(content, indent=1).split("\n"), Expected(None, s.v.si, s.i.si))


def named_lists(draw: Draw, k: int) -> CorpusFile:
    """Lists with names, as matrix programs, settings files and notebooks write them."""
    s = draw.sweep("organic", i_unit=["A", "mA"][k % 2])
    v_name, i_name = f"voltage_{s.v_unit}", f"current_{s.i_unit}"
    v, i = s.v.texts, s.i.texts

    def bracketed(name: str, texts: list[str], mark: str) -> str:
        return f"{name} = [{mark.join(texts)}]"

    def folded(name: str, texts: list[str]) -> list[str]:
        rows = [", ".join(texts[j : j + 5]) + "," for j in range(0, len(texts), 5)]
        return [f"{name} = [", *rows, "]"]

    def items(name: str, texts: list[str]) -> list[str]:
        return [f"{name}:", *(f"  - {t}" for t in texts)]

    forms = [
        ["% cell Q9", bracketed(v_name, v, " ") + ";", bracketed(i_name, i, " ") + ";", "plot(v, i)"],
        ["area_cm2 = 0.25", bracketed(v_name, v, ", "), bracketed(i_name, i, ", ")],
        ["[cell]", "area_cm2 = 0.25", "[sweep]", *folded(v_name, v), *folded(i_name, i)],
        ["area: 0.25 cm2", *items(v_name, v), *items(i_name, i)],
        ["Area (cm2);0.25;", f"U[{s.v_unit}];" + ";".join(v), f"I[{s.i_unit}];" + ";".join(i)],
        ["area: 0.25 cm2", f"voltage ({s.v_unit}): " + " ".join(v), f"current ({s.i_unit}): " + " ".join(i)],
    ]
    said = {} if k % 6 == 0 else {"area_cm2": 0.25}
    return one(
        ["cell.m", "cell.py.txt", "cell.toml", "cell.yaml", "cell.csv", "cell.txt"][k % 6],
        forms[k % 6],
        s.expected(**said),
    )


def web_table(draw: Draw, k: int) -> CorpusFile:
    """A table of a web page, in one line or in many, under the ending of a spreadsheet."""
    s = draw.sweep("silicon", i_unit=["mA", "A"][k % 2])
    row = "<tr><td>{}</td><td>{}</td></tr>"
    head = f"<tr><th>Voltage ({s.v_unit})</th><th>Current ({s.i_unit})</th></tr>"
    lines = ["<html><body>", "<p>Area: 0.25 cm&sup2;</p>", "<table border=1>", head]
    lines += [row.format(v, i) for v, i in zip(s.v.texts, s.i.texts, strict=True)] + ["</table></body></html>"]
    return one("table.xls", lines if k % 2 else ["".join(lines)], s.expected(area_cm2=0.25))


def json_nested(draw: Draw, k: int) -> CorpusFile:
    """Lists beside their units."""
    s = draw.sweep("organic", i_unit=["mA", "A"][k % 2])
    lists = [[float(t) for t in texts] for texts in (s.v.texts, s.i.texts)]
    sweep = {
        name: {"unit": unit, "values": values}
        for name, unit, values in zip(("voltage", "current"), (s.v_unit, s.i_unit), lists, strict=True)
    }
    return one("nested.json", [json.dumps({"sweep": sweep})], s.expected())


def logs(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("logs/plain", 10, seed, plain)
    yield from made("logs/stamped", 8, seed, stamped)
    yield from made("logs/other lines", 10, seed, chatty)
    yield from made("logs/german", 4, seed, german)
    yield from made("logs/json lines", 4, seed, json_lines)
    yield from made("logs/json object", 4, seed, json_object)
    yield from made("logs/json records", 4, seed, json_records)
    yield from made("logs/json nested", 2, seed, json_nested)
    yield from made("logs/named lists", 12, seed, named_lists)
    yield from made("logs/web table", 2, seed, web_table)
