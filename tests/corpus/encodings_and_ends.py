"""Line ends, encodings and what terminals, printers and instruments add to a text."""

import gzip
from collections.abc import Iterator

from parts import CorpusFile, Draw, aligned, comma, made, rows, table, text

ENDS = {"lf": "\n", "crlf": "\r\n", "cr": "\r", "crcrlf": "\r\r\n"}

# Encoding of the bytes, what stands before them, and the marks that the encoding can write.
ENCODINGS = [
    ("utf-8", b"", "µ°²Ω"),
    ("utf-8", b"\xef\xbb\xbf", "µ°²Ω"),
    ("utf-16-le", b"\xff\xfe", "µ°²Ω"),
    ("utf-16-be", b"\xfe\xff", "µ°²Ω"),
    ("utf-16-le", b"", "µ°²"),
    ("utf-16-be", b"", "µ°²"),
    ("utf-32-le", b"\xff\xfe\x00\x00", "µ°²Ω"),
    ("utf-32-be", b"\x00\x00\xfe\xff", "µ°²Ω"),
    ("latin-1", b"", "µ°²"),
    ("cp1252", b"", "µ°²"),
    ("cp437", b"", "µ°²Ω"),
    ("cp850", b"", "µ°²"),
    ("mac-roman", b"", "µ°Ω"),
]


def line_ends(draw: Draw, k: int) -> CorpusFile:
    """Each line end, with the last line ended or not."""
    name = list(ENDS)[k % 4]
    s = draw.sweep()
    mark = draw.choice([",", ";", "\t"])
    lines = ["# Device: cell 7", "", *table(s, mark)] if k % 3 == 0 else table(s, mark)
    data = text(lines, ENDS[name])
    if k % 2:
        data = data.removesuffix(ENDS[name].encode())
    return CorpusFile(f"{name}.csv", data, "", [s.expected()])


def mixed_ends(draw: Draw, k: int) -> CorpusFile:
    """Lines that end in different ways, as after an editor on another system."""
    s = draw.sweep()
    ends = [["\n", "\r\n"], ["\r\n", "\r\r\n"], ["\r", "\n"]][k % 3]
    lines = table(s)
    data = "".join(line + ends[j % 2 if k < 3 else j > 5] for j, line in enumerate(lines))
    return CorpusFile("mixed.csv", data.encode(), "", [s.expected()])


def encoded(draw: Draw, k: int) -> CorpusFile:
    """An encoding that shows in the unit, a heading or a line of metadata."""
    encoding, before, marks = ENCODINGS[k % len(ENCODINGS)]
    s = draw.sweep("dye", i_unit="µA")
    mark = draw.choice([";", "\t"])
    options = {"temperature_c": 31.5}
    lines = ["# Prüfling: Zelle 4 grün", "# Temperatur: 31,5 °C"]
    if "²" in marks:
        lines.append("# Fläche: 0,25 cm²")
        options["area_cm2"] = 0.25
    if "Ω" in marks:
        lines.append("# Messwiderstand: 100 Ω")
    lines.append(f"Spannung (V){mark}Strom (µA)")
    lines += rows([comma(s.v.texts), comma(s.i.texts)] if k % 2 else [s.v.texts, s.i.texts], mark)
    if k % 2 == 0:
        lines = [line.replace("31,5", "31.5").replace("0,25", "0.25") for line in lines]
    end = draw.choice(["\n", "\r\n"])
    body = "".join(line + end for line in lines)
    return CorpusFile(f"{encoding}.txt", before + body.encode(encoding), "", [s.expected(**options)])


def unit_only(draw: Draw, k: int) -> CorpusFile:
    """The encoding shows in one place only, the unit of the current."""
    encoding = ["latin-1", "cp1252", "cp437", "cp850", "mac-roman", "utf-8", "utf-16-le", "utf-16-be"][k % 8]
    s = draw.sweep("dye", i_unit="µA")
    lines = [f"Voltage (V){chr(9)}Current (µA)", *rows([s.v.texts, s.i.texts], "\t")]
    return CorpusFile(f"unit_{encoding}.txt", text(lines, "\r\n", encoding), "", [s.expected()])


def micro_sign(draw: Draw, k: int) -> CorpusFile:
    """Both letters that stand for micro: the sign U+00B5 and the Greek letter U+03BC."""
    s = draw.sweep("dye", i_unit="µA")
    letter = "\u00b5" if k % 2 else "\u03bc"
    lines = [f"V [V],I [{letter}A]", *rows([s.v.texts, s.i.texts])]
    return CorpusFile("micro.csv", text(lines), "", [s.expected()])


def padding(draw: Draw, k: int) -> CorpusFile:
    """Zero bytes at the end, as a block-wise writer leaves them, or the end mark 1A of old systems."""
    s = draw.sweep()
    data = text(table(s), draw.choice(["\n", "\r\n"]))
    data += b"\x1a" if k % 3 == 2 else b"\x00" * draw.choice([1, 17, 512])
    return CorpusFile("padded.csv", data, "", [s.expected()])


def colours(draw: Draw, k: int) -> CorpusFile:
    """Colour codes of a terminal around a heading, the numbers or a remark."""
    s = draw.sweep()
    green, off = "\x1b[32m", "\x1b[0m"
    lines = table(s, "\t")
    if k % 3 == 0:
        lines[0] = f"\x1b[1;34m{lines[0]}{off}"
    elif k % 3 == 1:
        lines = [f"{green}{line}{off}" for line in lines]
    else:
        numbers = [f"\x1b[36m{v}{off}\t{i}" for v, i in zip(s.v.texts, s.i.texts, strict=True)]
        lines = [f"{green}ready{off}", lines[0], *numbers]
    return CorpusFile("colours.log", text(lines), "", [s.expected()])


def page_break(draw: Draw, k: int) -> CorpusFile:
    """A form feed before the text, at the end, or in front of a row within the one table."""
    s = draw.sweep(points=25)
    lines = aligned([[f"U/{s.v_unit}", *s.v.texts], [f"I/{s.i_unit}", *s.i.texts]], 3)
    if k % 3 == 0:
        lines[0] = "\f" + lines[0]
    elif k % 3 == 1:
        lines.append("\f")
    else:
        lines[14] = "\f" + lines[14]
    return CorpusFile("page.prn", text(lines, "\r\n"), "", [s.expected()])


def cut(draw: Draw, k: int) -> CorpusFile:
    """The last row stops before its second number: the rows before it hold, and a reader must say that it is cut."""
    s = draw.sweep(points=25)
    mark = draw.choice([",", ";", "\t"])
    lines = table(s, mark)
    last = lines[-1]
    stop = last.index(mark) + (1 if k % 2 else 0)
    data = text(lines[:-1]) + last[:stop].encode()
    return CorpusFile("cut.csv", data, "", [s.kept(range(24))], incomplete=True)


def zipped(draw: Draw, k: int) -> CorpusFile:
    """A text packed with gzip, with and without an ending that says so."""
    s = draw.sweep()
    data = gzip.compress(text(table(s, draw.choice([",", "\t"])), draw.choice(["\n", "\r\n"])), mtime=0)
    return CorpusFile("packed.csv.gz" if k % 2 else "packed.csv", data, "", [s.expected()])


def encodings(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("encodings/line ends", 12, seed, line_ends)
    yield from made("encodings/mixed ends", 6, seed, mixed_ends)
    yield from made("encodings/marks", 26, seed, encoded)
    yield from made("encodings/unit only", 8, seed, unit_only)
    yield from made("encodings/micro", 2, seed, micro_sign)
    yield from made("encodings/padding", 6, seed, padding)
    yield from made("encodings/colours", 6, seed, colours)
    yield from made("encodings/page break", 6, seed, page_break)
    yield from made("encodings/cut", 6, seed, cut)
    yield from made("encodings/gzip", 4, seed, zipped)
