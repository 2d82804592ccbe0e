"""Values put together again from the arrays and the text of a kept file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from panel.kept.classes import class_named

if TYPE_CHECKING:
    import numpy as np

TAG = "~"
KINDS = frozenset(
    {
        *("nat", "moment", "day", "tuple", "list", "set", "frozenset", "map", "value", "choice"),
        *("number", "array", "objects", "frame", "range", "index", "column", "words"),
    }
)
_TYPE = re.compile(r"[<>|=]?[A-Za-z]+\d*(\[[\w, :/+-]+\])?")
"""One type as the libraries write it; what has brackets or commas besides they read as Python."""


def _type_of(told: Mapping[str, Any]) -> str:
    """Return the type of what is told, as text.

    Raises
    ------
    TypeError, ValueError
        It is no text, or not that of one type.
    """
    kind = told["d"]
    if not _TYPE.fullmatch(kind):
        raise ValueError(f"there is no type {kind!r}")
    return str(kind)


class Reader:
    """Puts values together again."""

    def __init__(self, arrays: Mapping[str, np.ndarray]) -> None:
        self._arrays = arrays

    def value(self, told: Any) -> Any:
        """Return what was told."""
        if not isinstance(told, dict):
            return told
        kind = told[TAG]
        if kind not in KINDS:
            raise KeyError(kind)
        return getattr(self, f"_{kind}")(told)

    def _each(self, told: Any) -> list[Any]:
        return [self.value(each) if isinstance(each, dict) else each for each in told]

    def _nat(self, _: Any) -> Any:
        import pandas as pd

        return pd.NaT

    def _moment(self, told: Any) -> Any:
        import pandas as pd

        return pd.Timestamp(told["v"])

    def _day(self, told: Any) -> date:
        return date.fromisoformat(told["v"])

    def _tuple(self, told: Any) -> tuple[Any, ...]:
        return tuple(self._each(told["v"]))

    def _list(self, told: Any) -> list[Any]:
        return self._each(told["v"])

    def _set(self, told: Any) -> set[Any]:
        return set(self._each(told["v"]))

    def _frozenset(self, told: Any) -> frozenset[Any]:
        return frozenset(self._each(told["v"]))

    def _map(self, told: Any) -> dict[Any, Any]:
        return dict(zip(self._each(told["k"]), self._each(told["v"]), strict=True))

    def _value(self, told: Any) -> Any:
        held = {name: self.value(each) for name, each in told["v"].items()}
        return class_named(told["c"])(**held)

    def _choice(self, told: Any) -> Any:
        return getattr(class_named(told["c"]), told["v"])

    def _number(self, told: Any) -> Any:
        import numpy as np

        return np.dtype(_type_of(told)).type(told["v"])

    def _array(self, told: Any) -> np.ndarray:
        return self._arrays[told["v"]]

    def _objects(self, told: Any) -> np.ndarray:
        import numpy as np

        found = np.empty(len(told["v"]), dtype=object)
        found[:] = self._each(told["v"])
        return found.reshape(told["s"])

    def _range(self, told: Any) -> Any:
        import pandas as pd

        start, stop, step = told["v"]
        return pd.RangeIndex(start, stop, step, name=self.value(told["n"]))

    def _index(self, told: Any) -> Any:
        import pandas as pd

        return pd.Index(self.value(told["v"]), name=self.value(told["n"]))

    def _column(self, told: Any) -> Any:
        import pandas as pd

        return pd.Series(self.value(told["v"]), dtype=_type_of(told), copy=False)

    def _words(self, told: Any) -> Any:
        import numpy as np
        import pandas as pd

        words = np.empty(len(told["w"]), dtype=object)
        words[:] = self._each(told["w"])
        return pd.Series(words[self.value(told["v"])], dtype=_type_of(told))

    def _frame(self, told: Any) -> Any:
        import pandas as pd

        index = self.value(told["i"])
        columns = [self.value(each) for each in told["v"]]
        held = {place: each.set_axis(index) for place, each in enumerate(columns)}
        return pd.DataFrame(held, index=index).set_axis(self._each(told["n"]), axis=1)
