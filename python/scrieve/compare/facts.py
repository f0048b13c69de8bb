"""Facts that are for all to read and for nobody to change."""

from __future__ import annotations

import copy
from typing import Any


def _refused(self: Any, *_: Any, **__: Any) -> Any:
    raise TypeError(
        "the facts of a boat are those of her file, and are not changed: copy.deepcopy gives some of your own"
    )


class Facts(dict[str, Any]):
    """A dictionary that stays as it is, and all in it; a deep copy is an ordinary one."""

    __setitem__ = __delitem__ = __ior__ = clear = pop = popitem = setdefault = update = _refused

    def __reduce__(self) -> tuple[Any, ...]:
        return held, (copy.deepcopy(self),)

    def __deepcopy__(self, memo: dict[int, Any]) -> dict[str, Any]:
        return {key: copy.deepcopy(value, memo) for key, value in self.items()}


class _Listed(list[Any]):
    """A list that stays as it is; a deep copy is an ordinary one."""

    __setitem__ = __delitem__ = __iadd__ = __imul__ = append = clear = extend = _refused
    insert = pop = remove = reverse = sort = _refused

    def __reduce__(self) -> tuple[Any, ...]:
        return held, (copy.deepcopy(self),)

    def __deepcopy__(self, memo: dict[int, Any]) -> list[Any]:
        return [copy.deepcopy(value, memo) for value in self]


def held(value: Any) -> Any:
    """The value so that nobody can change it, dictionaries and lists within it too."""
    if isinstance(value, dict):
        return Facts({key: held(of) for key, of in value.items()})
    if isinstance(value, list):
        return _Listed(held(of) for of in value)
    return tuple(map(held, value)) if type(value) is tuple else value
