"""The transom as a pattern."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Annotated

from .. import _core
from ..errors import LoftError, Note, NothingToDraw, NotMade
from ..hull.backbone import ASSUMED_BOW
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Planking
from .options import round_of_beam

if TYPE_CHECKING:
    from ..hull.hull import Hull


NO_TRANSOM = "her table gives no transom, so none is drawn"


class Transom:
    """The transom at its true size, planking deducted, both faces, bevels round its edge; rolled out if curved

    Fashion pieces are drawn that stand on its forward face, along its edge; moulded to nothing there are none. A boat
    that ends forward in a section, as a scow, pram or punt does, has a bow transom drawn too.
    """

    lofted = Lofted(
        (
            Part("the transom at its true size", ("transom",), {"transom-bevels": "bevels"}, "transom"),
            Part(
                "the fashion pieces on the transom's forward face",
                ("fashion-pieces",),
                {"fashion-pieces": "fashion-pieces", "fashion-bevels": "fashion-bevels"},
                "transom",
            ),
            Part("the bow transom at its true size", ("bow-transom",), {"bow-transom-bevels": "bevels"}, "bow-transom"),
        ),
        order=60,
    )

    def draw(
        self,
        hull: Hull,
        *,
        thickness: Annotated[float, Length("thickness of the transom")] = 0.022,
        planking: Annotated[float | None, Planking("planking to deduct; left out, the table's own")] = None,
        beam: Annotated[float | None, Length("round of beam: the beam it is stated for")] = None,
        camber: Annotated[float | None, Length("round of beam: the camber over that beam")] = None,
        bevel_every: Annotated[float | None, Length("bevels at this spacing up the edge, too")] = None,
        fashion_moulded: Annotated[float, Length("width of the fashion pieces; 0 leaves them out")] = 0.07,
        fashion_sided: Annotated[float, Length("their size along the boat")] = 0.03,
    ) -> list[_core.Drawing]:
        asked = (thickness, planking, round_of_beam(beam, camber), bevel_every)
        made, failed = {}, None
        if hull.has_transom:
            try:
                made["transom"] = hull.transom(*asked)
            except LoftError as error:
                failed = error
        elif not hull.has_bow_transom:
            raise NothingToDraw("the table gives no transom", NO_TRANSOM)
        else:
            warnings.warn(Note(NO_TRANSOM), stacklevel=2)
        if hull.has_bow_transom:
            warnings.warn(Note(ASSUMED_BOW), stacklevel=2)
            try:
                made["bow-transom"] = hull.bow_transom(*asked)
            except LoftError as error:
                if failed is not None or not hull.has_transom:
                    raise
                warnings.warn(NotMade(f"bow transom: {error}"), stacklevel=2)
        if failed is not None:
            if not made:
                raise failed
            warnings.warn(NotMade(f"transom: {failed}"), stacklevel=2)
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
