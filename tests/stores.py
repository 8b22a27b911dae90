"""SPARQL stores for tests: a real one, and servers that are none or mean harm."""

import base64
import shutil
import socket
import subprocess
import sysconfig
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

OXIGRAPH = shutil.which("oxigraph", path=sysconfig.get_path("scripts")) or shutil.which("oxigraph")
"""The command of a store that the tests start, from the package of that name: beside this Python, which need not be on the path."""


def free_port() -> int:
    """A port on which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def real_store(location: Path) -> Iterator[str]:
    """A SPARQL 1.1 server of its own process on this machine; gives its address without the last part."""
    assert OXIGRAPH, "the store is missing; install the extra for tests"
    port = free_port()
    command = [OXIGRAPH, "serve", "--location", str(location), "--bind", f"127.0.0.1:{port}"]
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        for _ in range(600):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/query?query=ASK%7B%7D", timeout=5).read()
                break
            except urllib.error.URLError:
                assert server.poll() is None, "the store has ended"
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(30)


@contextmanager
def server(answer: Callable[[BaseHTTPRequestHandler], None]) -> Iterator[str]:
    """A server that answers each request by a function; gives its address."""

    class Answers(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            answer(self)

        do_GET = do_POST  # noqa: N815 - the library's name

        def log_message(self, *_: object) -> None:
            """Says nothing."""

    serving = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    serving.daemon_threads = True
    threading.Thread(target=serving.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{serving.server_address[1]}"
    finally:
        serving.shutdown()
        serving.server_close()


def sent(request: BaseHTTPRequestHandler) -> bytes:
    """What came with a request; read once, since there is nothing behind it."""
    if not hasattr(request, "sent"):
        request.sent = request.rfile.read(int(request.headers.get("Content-Length", 0)))
    data: bytes = request.sent
    return data


def says(status: int, kind: str, data: bytes, **headers: str) -> Callable[[BaseHTTPRequestHandler], None]:
    """Answers always the same."""

    def answer(request: BaseHTTPRequestHandler) -> None:
        sent(request)
        request.send_response(status)
        request.send_header("Content-Type", kind)
        for name, value in headers.items():
            request.send_header(name.replace("_", "-"), value)
        request.send_header("Content-Length", str(len(data)))
        request.end_headers()
        request.wfile.write(data)

    return answer


def door(behind: str, user: str, password: str, seen: list[str]) -> Callable[[BaseHTTPRequestHandler], None]:
    """Lets one user through to a store, as a server in front of it does; notes what each request said of who asks."""
    wanted = "Basic " + base64.b64encode(f"{user}:{password}".encode()).decode()

    def answer(request: BaseHTTPRequestHandler) -> None:
        data = sent(request)
        seen.append(request.headers.get("Authorization", ""))
        if seen[-1] != wanted:
            says(401, "text/plain", b"who are you?")(request)
            return
        headers = {name: request.headers[name] for name in ("Content-Type", "Accept")}
        with urllib.request.urlopen(urllib.request.Request(behind + request.path, data, headers), timeout=30) as response:
            says(response.status, response.headers.get("Content-Type", "text/plain"), response.read())(request)

    return answer
