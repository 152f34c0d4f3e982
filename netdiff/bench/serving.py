"""The page served on this machine, until the program is stopped."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from netdiff.bench.app import application
from netdiff.bench.desk import Desk
from netdiff.bench.doors import Code, in_groups
from netdiff.tracing.session import Session

if TYPE_CHECKING:
    import uvicorn

PORT: Final = 8417
"""The same at every start, so that what a device has kept is found again; another one is taken if it is in use."""

LOOPBACK: Final = "127.0.0.1"

WARNING: Final = (
    "Everybody on the same network who has the code can read and change the found file, and who listens in on the\n"
    "network can read along: use it on a network of your own, and stop the program afterwards."
)


class CannotServe(Exception):
    """Why, in a sentence."""


def serve(
    path: Path,
    *,
    found: Path | None = None,
    port: int = 0,
    lan: bool = False,
    tell: Callable[[str], object] = print,
    opened: Callable[[str], object] = lambda url: None,
) -> None:
    """Serves until interrupted. ``found``: the file to begin where ``path`` is a stock file. ``port`` 0: `PORT`, or the
    next one that is free. ``opened`` is called with the address once the page answers. Raises Faulty, OSError, or
    CannotServe."""
    import uvicorn

    session = Session.open(path, found=found or "")
    addresses = [LOOPBACK, *([lan_address()] if lan else [])]
    sockets = _sockets(addresses, port)
    number = sockets[0].getsockname()[1]
    code = Code(tell) if lan else None
    desk = Desk(session)
    hosts = tuple(f"{name}:{number}" for name in (*addresses, "localhost"))
    app = application(desk, hosts, code, f"netdiff-{number}")
    config = uvicorn.Config(app, log_level="error", access_log=False, lifespan="off", server_header=False,
                            timeout_graceful_shutdown=2, timeout_keep_alive=30)  # fmt: skip
    server = uvicorn.Server(config)
    tell(f"The page at the bench: http://{LOOPBACK}:{number}/")
    tell(f"Every answer is saved at once in {session.path}")
    if code is not None:
        tell(f"For other devices: http://{addresses[1]}:{number}/")
        tell(f"The code that each device enters once: {in_groups(code.digits)}")
        tell(WARNING)
    tell("Stop with Ctrl-C.")
    desk.live.start()
    watch = threading.Thread(
        target=_watch, args=(server, desk, lambda: opened(f"http://{LOOPBACK}:{number}/")), daemon=True
    )
    watch.start()
    try:
        server.run(sockets)
    finally:
        desk.close()
        for one in sockets:
            with suppress(OSError):
                one.close()


def lan_address() -> str:
    """The address of this machine on its network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address of documentation, RFC 5737: only the way out is looked up
        except OSError:
            raise CannotServe("this machine is on no network, so that no other device reaches it") from None
        address: str = probe.getsockname()[0]
        return address


def _sockets(addresses: list[str], port: int) -> list[socket.socket]:
    """One listening socket an address, all on one port."""
    tries = [port] if port else range(PORT, PORT + 20)
    for number in tries:
        made: list[socket.socket] = []
        try:
            for address in addresses:
                one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
                made.append(one)
                one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                one.bind((address, number))
                one.listen(64)
        except OSError:
            for one in made:
                one.close()
        else:
            return made
    where = f"port {port} is" if port else f"the ports {PORT} to {PORT + 19} are"
    raise CannotServe(f"{where} in use or not allowed; name another with --port")


def _watch(server: uvicorn.Server, desk: Desk, ready: Callable[[], object]) -> None:
    """Opens the page when the server answers, and ends the streams of the devices when it is to stop."""
    while not (server.started or server.should_exit):
        time.sleep(0.02)
    if not server.should_exit:
        ready()
    while not server.should_exit:
        time.sleep(0.1)
    desk.closed = True
