"""A question of places, asked of numbers or of arrays of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..errors import ScrieveError


def each(ask: Callable[..., Any], *places: Any) -> Any:
    """What `ask` gives of numbers; of arrays, which are broadcast, an array of it, several numbers along the last axis.

    Raises what `ask` does, of arrays with the index of the place.
    """
    if all(isinstance(place, (int, float)) for place in places):
        return ask(*places)
    import numpy

    arrays = numpy.broadcast_arrays(*(numpy.asarray(place, dtype=float) for place in places))
    if not arrays[0].ndim:
        return ask(*map(float, arrays))
    given = []
    for at in numpy.ndindex(arrays[0].shape):
        try:
            given.append(ask(*(float(array[at]) for array in arrays)))
        except ScrieveError as error:
            where = ", ".join(map(str, at))
            raise type(error)(f"at index {where}: {error}") from error
    of_one = numpy.shape(given[0]) if given else ()
    return numpy.array(given, dtype=float).reshape(arrays[0].shape + of_one)
