"""``serve``: the interface in a browser, on this machine alone unless another address is named."""

from __future__ import annotations

import argparse
import secrets

from finishing_kg.cli.errors import USED, Unusable
from finishing_kg.cli.output import visible


def serve_interface(options: argparse.Namespace) -> int:
    """Serve until somebody stops it.

    Raises:
        Unusable: the library for it is not installed, or the address or port cannot be used.
    """
    if not 1 <= options.port <= 65535:
        raise Unusable(f"There is no port {options.port}. Name one from 1024 to 65535, such as: --port 8000")
    try:
        from finishing_kg_tui.served.server import BrowserServer, in_url, is_loopback
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("textual_serve", "aiohttp"):
            raise
        raise Unusable(
            'For a browser one more library is needed: pip install "finishing-kg[serve]". The interface runs in a terminal too.'
        ) from error
    address = options.address
    token = None if is_loopback(address) else secrets.token_urlsafe(24)
    place = f"http://{in_url(visible(address))}:{options.port}/"

    def announce() -> None:
        if token is None:
            print(f"Open {place} in a browser on this machine. No other machine can reach it. Ctrl+C stops it.", flush=True)
            return
        print(
            f"WARNING: everybody who can reach {visible(address)} over the network and has the address below can use the adviser here: ask it,\n"
            "start up to 8 copies of it, and so take up this machine's time. What goes over the network is not encrypted: who can listen in\n"
            "reads every question and the token. Do this only in a network that you trust, and stop it with Ctrl+C when you are done.\n"
            f"Open {place}?token={token}",
            flush=True,
        )

    try:
        BrowserServer(address, options.port, token).run(announce)
    except OSError as error:
        raise Unusable(f"{visible(address)}, port {options.port}: this cannot be listened on ({error.strerror}). Try another with --port.") from error
    return USED
