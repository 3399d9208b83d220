"""Signatures of classes whose stub has `__new__`: an extension of griffe, named in mkdocs.yml.

The handbook shows the signature of `__init__` beside the name of a class. The classes of the compiled core are made by
`__new__`; it is given the other name here.
"""

from __future__ import annotations

from typing import Any

import griffe


class Constructors(griffe.Extension):
    """Gives `__new__` of a class, or the first of its overloads, the name `__init__` as well."""

    def on_class_members(self, *, cls: griffe.Class, **_: Any) -> None:
        overloads = cls.overloads.get("__new__")
        made = overloads[0] if overloads else cls.members.get("__new__")
        if not isinstance(made, griffe.Function) or "__init__" in cls.members:
            return
        parameters = [parameter for parameter in made.parameters if parameter.name != "cls"]
        cls.set_member("__init__", griffe.Function("__init__", parameters=griffe.Parameters(*parameters)))
