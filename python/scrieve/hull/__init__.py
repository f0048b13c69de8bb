"""The faired hull, and all that can be asked of her: lines, moulds, backbone, inside, floating, how sure it is."""

from .curve import Curve
from .hull import Hull

__all__ = ["Curve", "Hull"]
