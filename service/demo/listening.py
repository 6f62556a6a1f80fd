"""The service in a thread of this process, on loopback."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from fastapi import FastAPI

LOOPBACK = "127.0.0.1"
_TRIES = 50
#: The first start on a machine compiles the filter. [s]
_START_S = 180.0


def free_socket(first_port: int) -> socket.socket:
    """Return a listening socket on the first port from ``first_port`` on that is free; 0 asks for any."""
    for port in range(first_port, first_port + _TRIES) if first_port else (0,):
        bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind((LOOPBACK, port))
            # At once: a socket that is only bound does not keep another process from the port.
            bound.listen()
        except OSError:
            bound.close()
            continue
        return bound
    raise OSError(f"no free port from {first_port} to {first_port + _TRIES - 1}")


@contextmanager
def listening(app: FastAPI, bound: socket.socket) -> Iterator[str]:
    """Serve an application on a bound socket; yields its URL and stops serving at the end."""
    server = uvicorn.Server(
        uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=5)
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
    thread.start()
    try:
        _await_start(server, thread)
        yield f"http://{LOOPBACK}:{bound.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
        bound.close()


def _await_start(server: uvicorn.Server, thread: threading.Thread) -> None:
    deadline = time.monotonic() + _START_S
    while not server.started:
        if not thread.is_alive() or time.monotonic() > deadline:
            raise RuntimeError("the server did not start")
        time.sleep(0.01)
