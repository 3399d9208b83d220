"""Individual data for a course on diode-model fitting: each student measures another device, with a truth that is
known.

```text
key = HMAC-SHA256(salt; exercise, student)        key → device → simulated tracer → readings
a student's check:   answer against what the library makes of the same readings      (needs no truth)
an instructor's mark: answer against the truth, drawn anew from number and salt       (needs the salt)
```

**Why two checks.** A notebook that checks an answer must hold something to check it by. Salted hashes of the truth
cannot tell whether a number with a ± lies within its tolerance, and a hash of a rounded truth is found by trying all
roundings; a truth that is hidden in the notebook can be read there. So a student's `check` uses the readings alone:
the best estimate that they allow, with its ±, which the student could compute as well. It can be read, and running it
again and again finds that estimate; it is what the lab teaches to find, and never the truth. Points are given by
`Instructor.mark`, elsewhere.

**What is protected.** The truth, as long as the salt is: a `Handout` holds readings, stated noise and set points, and
these are rounded to steps coarser than what the readings tell. Device and blanks come of HMAC-SHA256; the noise of the
simulated tracer has a seed of 63 bits of it. **What is not:** the method (the source is open), the library's own
figures of the readings, a handout against being edited (marks draw the readings anew, so that an edited one gains
nothing), who handed an answer in, and everything once the salt is where a student's code runs, such as hidden tests in
the same process.

`Instructor` → `Handout` → `check` → `write_answers` → `read_answers` → `Instructor.mark`, `Instructor.marking_sheet`.

```python
>>> import litdiode as ld
>>> teacher = ld.course.Instructor("an invented salt, not for a course")
>>> handout = teacher.handout("0042", ld.course.EXERCISES[:1])
>>> handout.names()
['key_points']
>>> points = handout.readings("key_points").sweeps["lit"].key_points()
>>> answer = {name: getattr(points, name) for name in ("isc", "voc", "pmax", "ff")}
>>> ld.course.check(handout, "key_points", answer)
>>> marks = teacher.mark("0042", {"key_points": answer}, ["key_points"])
>>> marks.points, marks.most
(8, 8)
```
"""

from .draw import new_salt
from .exercise import Readings
from .exercises import ALL as _ALL
from .handout import Handout, check
from .instructor import Instructor, Key, KeyRow, Mark, Marks
from .judging import CheckFailed
from .sheet import read_answers, write_answers

#: Names of the exercises, in the order of a course.
EXERCISES = tuple(_ALL)

__all__ = [
    "EXERCISES",
    "CheckFailed",
    "Handout",
    "Instructor",
    "Key",
    "KeyRow",
    "Mark",
    "Marks",
    "Readings",
    "check",
    "new_salt",
    "read_answers",
    "write_answers",
]
