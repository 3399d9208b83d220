"""Methods with their equations and sources, and the cautions of the workplace, as far as they apply to a study."""

from __future__ import annotations

import numpy as np

from ..study.study import Study

_KEY_POINTS = {
    "name": "Key points",
    "equation": "FF = <i>P</i><sub>max</sub> / (<i>I</i><sub>sc</sub>·<i>V</i><sub>oc</sub>) &emsp; "
    "<i>J</i><sub>sc</sub> = <i>I</i><sub>sc</sub>/<i>A</i> &emsp; "
    "<i>η</i> = <i>P</i><sub>max</sub> / (<i>A</i>·<i>E</i>)",
    "text": "Isc, Voc and Pmax are read off a curve through the readings, which a quick diode fit guides where the "
    "curve is that of a diode; no figure leaves what neighbouring readings allow. A is the area, E the irradiance.",
    "source": "definitions: IEC 60904-1; the estimator: the handbook of litdiode, docs/key_points.md",
}
_UNCERTAINTY = {
    "name": "Uncertainty",
    "equation": "<i>u</i>²(<i>y</i>) = Σ<sub><i>i</i></sub> (∂<i>y</i>/∂<i>x<sub>i</sub></i>)² "
    "<i>u</i>²(<i>x<sub>i</sub></i>)",
    "text": "Scatter of the readings averages down; what moves all readings together (gain, offset, area, irradiance, "
    "leads) does not, and cells that share it share its error. ± is one standard uncertainty.",
    "source": "JCGM 100:2008, 5.1.2 and 5.2.2",
}
_GROUPS = {
    "name": "Groups",
    "equation": "<i>s</i>² = <i>s</i>²<sub>cells</sub> + <i>s</i>²<sub>measured</sub> &emsp; "
    "<i>u</i>²(mean) = <i>s</i>²/<i>n</i> + <i>u</i>²<sub>common</sub>",
    "text": "The spread of replicate cells less that of the measurement is the spread from cell to cell; what all "
    "share does not fall with more cells. An outlier is told by Grubbs' test at 1 %, and kept.",
    "source": "F. E. Grubbs, Ann. Math. Statist. 21 (1950) 27",
}
_COMPARISON = {
    "name": "Comparison",
    "equation": "<i>t</i> = (<i>x̄</i><sub>1</sub> − <i>x̄</i><sub>2</sub>) / √("
    "<i>s</i>²<sub>1</sub>/<i>n</i><sub>1</sub> + <i>s</i>²<sub>2</sub>/<i>n</i><sub>2</sub> + <i>u</i>²<sub>c</sub>)",
    "text": "Different: the interval of Welch's t leaves 0 out. Equivalent: two one-sided tests put the difference "
    "within the margin. Else undecided. Beside it stand the exact permutation test, the exact rank test, and Hedges' "
    "g, the difference in standard deviations freed of its bias.",
    "source": "B. L. Welch, Biometrika 34 (1947) 28; R. A. Fisher, The Design of Experiments (1935), section 21; "
    "D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657; L. V. Hedges, J. Educ. Stat. 6 (1981) 107",
}
_DIODE = "<i>I</i> = <i>I</i><sub>ph</sub> − {sum}(exp(<i>u</i>/{a}) − 1) − <i>u</i>/<i>R</i><sub>sh</sub> &emsp; "
_JUNCTION = "<i>u</i> = <i>V</i> + <i>I</i>·<i>R</i><sub>s</sub>"
_FITS = {
    1: {"sum": "<i>I</i><sub>0</sub>", "a": "<i>nV<sub>T</sub></i>"},
    2: {"sum": "Σ<sub><i>k</i></sub> <i>I</i><sub>0<i>k</i></sub>", "a": "<i>n<sub>k</sub>V<sub>T</sub></i>"},
}


def methods(study: Study) -> list[dict[str, str]]:
    """What was done, in the order of the page."""
    found = [_KEY_POINTS, _UNCERTAINTY]
    if study.groups:
        found += [_GROUPS, _COMPARISON]
    if study.diodes:
        name = "one diode" if study.diodes == 1 else "two diodes"
        found.append(
            {
                "name": f"Fit of {name}",
                "equation": _DIODE.format(**_FITS[study.diodes]) + _JUNCTION,
                "text": "Weighted least squares with bounds, from starts that the data give; intervals by profile "
                "likelihood where the linear ones fail. What the readings do not determine is named, not quoted.",
                "source": "W. Shockley, Bell Syst. Tech. J. 28 (1949) 435; D. W. Marquardt, J. Soc. Ind. Appl. Math. "
                "11 (1963) 431",
            }
        )
    return found


#: Direct voltage in V above which work is left to trained people: common practice, and the law in many places.
_HIGH_V = 60.0
_LIT = {
    "Hot lamp": "A lamp of one-sun strength burns skin and starts fires: shield it, and let it cool down first.",
    "Ultraviolet": "Sunlike light holds ultraviolet: wear eye protection, and cover skin.",
    "Electrolyte": "Where cells hold a liquid electrolyte, its solvent is flammable and toxic: a fume hood, gloves, "
    "and the safety data sheet first.",
}


def cautions(study: Study) -> dict[str, str]:
    """What can hurt somebody who repeats the measurement, where it applies."""
    highest = max(float(np.max(np.abs(sweep.voltage_v))) for sweep in study.sweeps)
    found = {}
    if highest > _HIGH_V:
        found["High voltage"] = (
            f"Up to {highest:.0f} V were read. Above 60 V d.c. a string can kill, in daylight also when it is off: "
            "cover it before it is wired, and leave it to people who are trained and licensed for it."
        )
    lit = any(not isinstance(points, str) and points.pmax is not None for points in study.key_points)
    return found | (_LIT if lit else {})
