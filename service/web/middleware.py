"""What stands before every route: counted body bytes, and headers that every answer has."""

import msgspec
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.web.problems import MEDIA_TYPE, Problem, RequestRefused

#: A log of 10,000 sets as NDJSON fits; anything larger is not a request of ours. [bytes]
LARGEST_BODY = 8 * 1024 * 1024
_COMMON = [(b"x-content-type-options", b"nosniff"), (b"referrer-policy", b"no-referrer")]


def _too_large(largest: int) -> Problem:
    return Problem(413, "too_large", "Too large", f"A body may hold at most {largest} bytes.")


class BodyLimit:
    """Refuse bodies above a limit by the bytes that really arrive, whatever Content-Length says."""

    def __init__(self, app: ASGIApp, largest: int = LARGEST_BODY) -> None:
        self._app = app
        self._largest = largest

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, counting."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        received = 0

        async def counted() -> Message:
            nonlocal received
            message = await receive()
            received += len(message.get("body", b""))
            if received > self._largest:
                raise RequestRefused(_too_large(self._largest))
            return message

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message["headers"], *_COMMON]}
            await send(message)

        if self._announced(scope) > self._largest:
            await self._refuse(send)
        else:
            await self._app(scope, counted, with_headers)

    def _announced(self, scope: Scope) -> int:
        for name, value in scope["headers"]:
            if name == b"content-length" and value.isdigit():
                return int(value)
        return 0

    async def _refuse(self, send: Send) -> None:
        body = msgspec.json.encode(_too_large(self._largest).document())
        headers = [
            (b"content-type", MEDIA_TYPE.encode()),
            (b"content-length", str(len(body)).encode()),
            (b"connection", b"close"),
            *_COMMON,
        ]
        await send({"type": "http.response.start", "status": 413, "headers": headers})
        await send({"type": "http.response.body", "body": body})
