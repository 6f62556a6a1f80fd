"""Reference data: muscles, exercises, texts; every number with its basis."""

from service.catalogue.catalogue import Catalogue, UnknownExercise, UnknownMuscle
from service.catalogue.loading import load_catalogue

__all__ = ["Catalogue", "UnknownExercise", "UnknownMuscle", "load_catalogue"]
