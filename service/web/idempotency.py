"""The Idempotency-Key header: quoted as a structured field or bare, both are one key."""

from typing import Annotated

from fastapi import Header

IdempotencyKey = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        min_length=1,
        max_length=255,
        pattern=r"^[\x21-\x7e]+$",
        description=(
            "Makes the request safe to repeat: the same key with the same body answers what the first one did, with "
            "another body 409. Quoted or bare; belongs to the calling key; kept for 7 days at least."
        ),
    ),
]


def bare(key: str | None) -> str | None:
    """Return the key without the quotes of a structured field string."""
    if key is not None and len(key) > 2 and key[0] == key[-1] == '"':
        return key[1:-1]
    return key
