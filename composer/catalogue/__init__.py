"""The catalogue: dances, holds and figures that have passed simulation."""

from composer.catalogue.loader import load_catalogue
from composer.catalogue.model import Catalogue, Figure, Stand

__all__ = ["Catalogue", "Figure", "Stand", "load_catalogue"]
