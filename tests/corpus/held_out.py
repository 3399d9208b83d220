"""The held-out fifth of the corpus: files as whole programs, spreadsheets and people would write them.

Nothing is tuned on these files; they are read once, to report how the reader does. All devices are invented.
A label is expected only where a file holds several sweeps and names them: the shortest text of the file that tells a
sweep from its neighbours, so a reader's label may say more. `None` leaves the label to the reader. Options are expected
where the file states them. A file with `needs` lacks what only the measurer knows: the reader may ask or assume aloud,
and with these options it has to give the expected numbers. A sweep in the dark takes its sign from the light sweep that
is written beside it.
"""

from collections.abc import Iterator
from dataclasses import replace

from held_out_bench import Bench, Layout
from held_out_instruments import RECORDER, SOURCE_METER
from held_out_more import MORE
from held_out_old import DOS_LOGGER, OUTDOOR, TWO_METERS
from held_out_scripts import FRAMES, NOTEBOOK, NUMPY, OCTAVE, WEB
from held_out_serial import LAYOUTS as SERIAL
from held_out_sessions import LANGUAGES, LONG_HEADER, SCREEN, WINDOW
from held_out_sets import ARCHIVE, BOTH_WAYS, DARK_LIGHT, FLASHER, SIX_PIXELS
from held_out_sheets import PAPER, PLOT_PROGRAM, SPREADSHEET, TEMPLATE
from parts import CorpusFile

PROGRAMS: dict[str, list[Layout]] = {
    "serial log": SERIAL,
    "source-measure unit": SOURCE_METER,
    "recorder": RECORDER,
    "DOS logger": DOS_LOGGER,
    "two meters": TWO_METERS,
    "outdoor tracer": OUTDOOR,
    "long header": LONG_HEADER,
    "spreadsheet": SPREADSHEET,
    "course template": TEMPLATE,
    "plotting program": PLOT_PROGRAM,
    "paper": PAPER,
    "matrix program": OCTAVE,
    "numpy text": NUMPY,
    "data frame": FRAMES,
    "web application": WEB,
    "notebook": NOTEBOOK,
    "six pixels": SIX_PIXELS,
    "both directions": BOTH_WAYS,
    "dark and light": DARK_LIGHT,
    "module flasher": FLASHER,
    "archive": ARCHIVE,
    "terminal": SCREEN,
    "graphical program": WINDOW,
    "operator's language": LANGUAGES,
}


def files(seed: int = 7) -> Iterator[CorpusFile]:
    """All files, program by program; two seeds give the same layouts with other devices and readings."""
    for kind, layouts in PROGRAMS.items():
        stem = kind.replace(" ", "_").replace("'", "")
        for k, layout in enumerate([*layouts, *MORE[kind]]):
            made = layout(Bench(f"held out {seed}/{kind}/{k}"))
            yield replace(made, name=f"{stem}_{k:02d}_{made.name}", kind=kind)
