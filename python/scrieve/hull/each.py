"""A question of places, asked of numbers or of arrays of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..errors import ScrieveError, error


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
        except ScrieveError as one:
            where = f"at index {', '.join(map(str, at))}"
            besides = {name: of for name, of in vars(one).items() if name not in ("what", "where", "remedy")}
            raise error(type(one), one.what, where=where, remedy=one.remedy, at=True, **besides) from one
    of_one = numpy.shape(given[0]) if given else ()
    return numpy.array(given, dtype=float).reshape(arrays[0].shape + of_one)
