"""Numbers as they are quoted: value ± standard uncertainty, two digits of the uncertainty, a prefixed unit.

7.31 ± 0.12 mA

The rules are those of the compiled core, which writes its messages by them.
"""

from ._core import between, plus_minus, prefix_exponent, prefixed, quoted, span

__all__ = ["between", "plus_minus", "prefix_exponent", "prefixed", "quoted", "span"]
