"""The transom as a pattern."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Annotated

from .. import _core
from ..errors import LoftError, Note, NotMade
from ..hull.backbone import ASSUMED_BOW
from ..plugin.given import PickedUp
from ..plugin.options import Length
from .options import round_of_beam

if TYPE_CHECKING:
    from ..hull.hull import Hull


class Transom:
    """The transom at its true size, planking deducted, both faces, bevels round its edge; rolled out if curved

    Fashion pieces are drawn that stand on its forward face, along its edge; moulded to nothing there are none. A boat
    that ends forward in a section, as a scow, pram or punt does, has a bow transom drawn too.
    """

    def draw(
        self,
        hull: Hull,
        *,
        thickness: Annotated[float, Length("thickness of the transom")] = 0.022,
        planking: Annotated[float | None, Length("planking to deduct; left out, the table's own")] = None,
        beam: Annotated[float | None, Length("round of beam: the beam it is stated for")] = None,
        camber: Annotated[float | None, Length("round of beam: the camber over that beam")] = None,
        bevel_every: Annotated[float | None, Length("bevels at this spacing up the edge, too")] = None,
        fashion_moulded: Annotated[float, Length("width of the fashion pieces; 0 leaves them out")] = 0.07,
        fashion_sided: Annotated[float, Length("their size along the boat")] = 0.03,
    ) -> list[_core.Drawing]:
        asked = (thickness, planking, round_of_beam(beam, camber), bevel_every)
        made = {}
        if hull.has_transom or not hull.has_bow_transom:
            made["transom"] = hull.transom(*asked)
        if hull.has_bow_transom:
            warnings.warn(Note(ASSUMED_BOW), stacklevel=2)
            made["bow-transom"] = hull.bow_transom(*asked)
        tables = {f"{name}-bevels": one.bevels() for name, one in made.items()}
        drawings = [one.drawing() for one in made.values()]
        if fashion_moulded > 0.0 and "transom" in made:
            try:
                fashion = hull.fashion_pieces(fashion_sided, fashion_moulded, thickness, planking)
            except LoftError as error:
                warnings.warn(NotMade(f"fashion pieces: {error}"), stacklevel=2)
            else:
                drawings.append(fashion.drawing())
                tables |= {"fashion-pieces": fashion.pieces(), "fashion-bevels": fashion.bevels()}
        return PickedUp(drawings, tables)


transom = Transom()
