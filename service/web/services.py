"""What the operations work with, handed down by the composition root."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from fastapi import Request

from service.catalogue.catalogue import Catalogue
from service.catalogue.texts import Texts
from service.usecases.exercises import ExerciseBook, book_of
from service.usecases.ports import Caller, Clock, Store, UnitOfWork


@dataclass(frozen=True, slots=True)
class Services:
    """Store, reference data, texts and clock."""

    store: Store
    catalogue: Catalogue
    texts: Texts
    clock: Clock

    def book(self, work: UnitOfWork) -> ExerciseBook:
        """Return the exercises that this transaction's tenant may name."""
        return book_of(work, self.catalogue)

    @contextmanager
    def write(self, caller: Caller) -> Iterator[tuple[UnitOfWork, ExerciseBook]]:
        """Open a writing transaction with its exercises."""
        with self.store.write(caller) as work:
            yield work, self.book(work)

    @contextmanager
    def read(self, caller: Caller) -> Iterator[tuple[UnitOfWork, ExerciseBook]]:
        """Open a reading transaction with its exercises."""
        with self.store.read(caller) as work:
            yield work, self.book(work)


def services_of(request: Request) -> Services:
    """Return the services of the application that handles a request."""
    services: Services = request.app.state.services
    return services
