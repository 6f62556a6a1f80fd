"""Requests whose ids the server makes: an Idempotency-Key makes them safe to repeat."""

import hashlib
from collections.abc import Callable
from typing import Any

import msgspec

from service.usecases.documents import Document
from service.usecases.errors import KeyReused
from service.usecases.ports import UnitOfWork


def once(
    work: UnitOfWork,
    key: str | None,
    asked: Any,
    do: Callable[[], Document],
    *,
    keep: Callable[[Document], Document],
) -> Document:
    """Do something once per key and caller, and answer a repetition with what was kept of the first answer.

    ``keep`` says what of the answer may be stored; a secret that is shown once may not. The kept result is written in
    the transaction of the deed, so that there is never one without the other. Raises ``KeyReused`` for another body.
    """
    if key is None:
        return do()
    print_ = hashlib.blake2b(msgspec.json.encode(asked, order="sorted"), digest_size=16).digest()
    work.keys.claim(key)
    found = work.keys.stored_result(key)
    if found is not None:
        first_print, result = found
        if first_print != print_ or result is None:
            raise KeyReused
        return result
    answer = do()
    work.keys.keep_result(key, print_, keep(answer))
    return answer
