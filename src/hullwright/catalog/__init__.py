"""Methods, products, substrates, rules of use, starting figures: all as data with evidence."""

from __future__ import annotations

from hullwright.catalog.loading import Stated, load
from hullwright.catalog.model import Catalog, Kind, Method, Pair, Product, Substrate
from hullwright.catalog.rules import Rule

__all__ = ["Catalog", "Kind", "Method", "Pair", "Product", "Rule", "Stated", "Substrate", "load"]
