"""What rules may ask for, and who provides it: :data:`FACTS` is the catalogue, filled by one module a scope."""

from capcheck.facts.catalogue import Catalogue, Fact, Session, UnknownFactError
from capcheck.facts.standard import FACTS

__all__ = ["FACTS", "Catalogue", "Fact", "Session", "UnknownFactError"]
