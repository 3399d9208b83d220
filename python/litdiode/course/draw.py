"""What is drawn for a student: numbers that follow from the salt, the student's number and the exercise, and from no
more.

```text
key = HMAC-SHA256(salt, version; exercise; attempt; student)
k-th number in (0, 1) = (first 52 bits of HMAC-SHA256(key, k) + ½)/2⁵²
```

Without the salt neither the key nor one number can be computed, and numbers that are known say nothing of another one
(RFC 2104; FIPS 198-1). Nothing of it depends on the machine or on a version of numpy.
"""

from __future__ import annotations

import hmac
import math
import secrets
import unicodedata
from collections.abc import Sequence
from statistics import NormalDist

from .._core import InputError
from ..arguments import require

#: Changes whenever an exercise would draw something else from the same number.
_VERSION = "litdiode course 2"
#: Characters below which a salt could be found by trying: 16 of a password's kind are some 100 bits.
_SHORTEST = 16


def new_salt() -> str:
    """A new salt for an `Instructor`: 32 random characters (192 bits) of the operating system. Keep it as a password
    is kept.

    ```python
    >>> import litdiode as ld
    >>> len(ld.course.new_salt())
    32
    ```
    """
    return secrets.token_urlsafe(24)


def checked_salt(salt: str) -> bytes:
    """The salt as a key; errors never show it."""
    if not isinstance(salt, str):
        raise TypeError(f"salt is of type {type(salt).__name__}; pass a text, such as course.new_salt() gives")
    if len(salt) < _SHORTEST or len(set(salt)) < _SHORTEST // 2:
        raise InputError(
            f"salt has {len(salt)} characters, {len(set(salt))} of them different, and could be guessed; pass "
            f"{_SHORTEST} or more, such as course.new_salt() gives"
        )
    return salt.encode("utf-8", "surrogatepass")


def checked_student(student: str, name: str = "student") -> str:
    """The number in the one way of writing it that counts: without spaces about it, compatible characters as one."""
    require(name, student, str, "a text, such as the number on the student's card")
    plain = unicodedata.normalize("NFKC", student).strip()
    if not plain:
        raise InputError(f"{name} = {student!r} is empty; pass a text, such as the number on the student's card")
    return plain


class Draw:
    """Random numbers of one student and one exercise. `attempt` counts draws whose readings were of no use."""

    def __init__(self, salt: bytes, student: str, exercise: str, attempt: int) -> None:
        message = "\0".join([_VERSION, exercise, str(attempt), student]).encode("utf-8", "surrogatepass")
        self._key = hmac.digest(salt, message, "sha256")
        self._count = 0

    def _bits(self, count: int) -> int:
        """The next number of so many bits, up to 256."""
        digest = hmac.digest(self._key, self._count.to_bytes(8, "big"), "sha256")
        self._count += 1
        return int.from_bytes(digest, "big") >> (256 - count)

    def _unit(self) -> float:
        """Uniform between 0 and 1, both excluded: 52 bits and a half are a double, where 53 would be rounded to 1."""
        return (self._bits(52) + 0.5) * 2.0**-52

    def uniform(self, low: float, high: float) -> float:
        """Uniform between `low` and `high`."""
        return low + (high - low) * self._unit()

    def log_uniform(self, low: float, high: float) -> float:
        """Uniform in its logarithm between `low` and `high`, both above 0."""
        return math.exp(self.uniform(math.log(low), math.log(high)))

    def normal(self, mean: float, sd: float) -> float:
        """Normal with this mean and standard deviation."""
        return mean + sd * NormalDist().inv_cdf(self._unit())

    def choice(self, options: Sequence[str]) -> str:
        """One of `options`, all alike."""
        return options[int(len(options) * self._unit())]

    def seed(self) -> int:
        """A seed for `simulate_sweep`: 63 bits."""
        return self._bits(63)
