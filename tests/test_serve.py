"""The interface in a browser: what it asks for, whom it lets in, and that a question gets its route there."""

import asyncio
import os
import re
import socket
import subprocess
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import aiohttp
import browser
import pytest
from aiohttp.test_utils import TestClient, TestServer
from finishing_kg_tui.served.server import BrowserServer, is_loopback

from finishing_kg.cli import main

ROOT = Path(__file__).parent.parent
QUESTION = "Relief cast panel in studio soda-lime glass, straight from the mould. What do I use to pre-polish it?"
# Keeps what comes over the socket: the page draws its letters on a canvas, where nobody can read them back.
LISTEN = """
window.received = '';
const Native = WebSocket;
window.WebSocket = class extends Native {
  constructor(...given) {
    super(...given);
    const letters = new TextDecoder();
    this.addEventListener('message', async ({data}) => {
      if (typeof data !== 'string') received += letters.decode(data instanceof Blob ? await data.arrayBuffer() : data, {stream: true});
    });
  }
};
"""


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@asynccontextmanager
async def serving(*words: str) -> AsyncIterator[str]:
    """The command running; what it said first."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tui")))}
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "finishing_kg", "serve", *words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=environment
    )
    try:
        assert process.stdout is not None
        async with asyncio.timeout(30):
            said = b""
            while b"Open http" not in said:
                line = await process.stdout.readline()
                assert line, said
                said += line
        yield said.decode()
    finally:
        process.terminate()
        await process.wait()


@asynccontextmanager
async def client(token: str | None) -> AsyncIterator[TestClient]:  # type: ignore[type-arg]
    """A client of the server, without a browser."""
    app = await BrowserServer("127.0.0.1", 8000, token)._make_app()
    async with TestClient(TestServer(app)) as made:
        yield made


@pytest.mark.skipif(browser.BROWSER is None, reason="no Chromium is installed")
async def test_a_question_gets_its_route_in_a_browser() -> None:
    """In a real browser the relief question is typed, its route is read and its proof opened, and the other rooms are entered; nothing is
    asked for from another machine."""
    port = free_port()
    async with serving("--port", str(port)) as said, browser.opened(f"http://127.0.0.1:{port}/", before=LISTEN) as page:
        assert f"http://127.0.0.1:{port}/" in said and "No other machine" in said
        await page.until("document.body.classList.contains('-first-byte') && received.includes('ready')")
        await page.click(300, await page.value("innerHeight") - 57)  # into the line for the question
        await page.type(f"{QUESTION}\n")
        plain = r"received.replace(/\x1b\[[0-9;?]*[A-Za-z]/g, '').replace(/\s+/g, ' ')"
        for row in ("1 diamond D46 coated hand pad", "3 pumice 2F loose brush wheel"):
            assert await page.until(f"{plain}.includes('{row}')"), row
        # The proof: to the route, and from its first step down to the reasons.
        await page.press("F2")
        await page.type("\n")
        assert await page.until(f"{plain}.includes('Step 1: diamond')")
        # The rooms beside the conversation work in a browser too: the plan check begins with the route.
        await page.press("F9")
        assert await page.until(f"{plain}.includes('plan check') && {plain}.includes('diamond')")
        await page.value("received = ''")
        await page.press("Escape")
        assert await page.until(f"{plain}.includes('Understood so far')")  # F10 belongs to the conversation, so it must be back first
        await page.press("F10")
        assert await page.until(f"{plain}.includes('Bench log') && {plain}.includes('To look at')")
        assert page.requested
        assert {re.match(r"(?:http|ws)://([^/]*)/", each)[1] for each in page.requested if not each.startswith("data:")} == {f"127.0.0.1:{port}"}  # type: ignore[index]


async def test_the_page_and_its_parts_come_from_this_server() -> None:
    """The page names no other machine, each part that it names is there, and a policy keeps to that."""
    async with client(None) as made:
        page = await made.get("/")
        text = await page.text()
        assert page.status == 200 and "https:" not in text and "default-src 'none'" in page.headers["Content-Security-Policy"]
        parts = re.findall(r'(?:href|src|url\()="?(/static/[^")]*)', text) + re.findall(r'url\("(/static/[^"]*)', text)
        assert len(parts) >= 3
        for part in parts:
            assert (await made.get(part)).status == 200, part


@pytest.mark.parametrize("headers", [{"Origin": "http://elsewhere.test"}, {"Origin": "null"}, {"Host": "elsewhere.test:8000"}])
async def test_other_pages_may_not_connect(headers: dict[str, str]) -> None:
    """A page from elsewhere, and a foreign name that points here, get neither the page nor a session."""
    async with client(None) as made:
        for path in ("/", "/static/js/textual.js"):
            assert (await made.get(path, headers=headers)).status == 403
        with pytest.raises(aiohttp.WSServerHandshakeError):
            await made.ws_connect("/ws", headers=headers)


async def test_a_token_lets_in_and_is_not_left_in_the_address() -> None:
    """With a token, nothing is given without it; with it the browser gets a cookie and an address without the token."""
    async with client("right") as made:
        for path in ("/", "/?token=wrong", "/static/js/textual.js", "/ws", "/download/x"):
            assert (await made.get(path)).status == 403, path
        moved = await made.get("/?token=right", allow_redirects=False)
        assert (moved.status, moved.headers["Location"]) == (302, "/")
        assert "HttpOnly" in moved.headers["Set-Cookie"] and "SameSite=Strict" in moved.headers["Set-Cookie"]
        assert (await made.get("/", headers={"Cookie": moved.headers["Set-Cookie"].split(";")[0]})).status == 200


async def test_another_address_comes_with_a_token_and_a_warning() -> None:
    """Listening for other machines says in words what that means, and prints an address with a token of its own."""
    async with serving("--address", "0.0.0.0", "--port", str(free_port())) as said:
        assert "WARNING" in said and "not encrypted" in said
        assert re.search(r"\?token=[\w-]{20,}$", said.strip())


def test_what_is_loopback() -> None:
    """Only addresses that no other machine reaches go without a token."""
    assert all(map(is_loopback, ("127.0.0.1", "::1", "localhost", "127.8.0.1")))
    assert not any(map(is_loopback, ("0.0.0.0", "::", "192.0.2.1", "localhost.elsewhere.test", "")))
    with pytest.raises(ValueError, match="token"):
        BrowserServer("0.0.0.0", 8000)


def test_a_port_in_use_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """A port that cannot be listened on, or is none, is told like any unusable input."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        assert main(["serve", "--port", str(taken.getsockname()[1])]) == 2
    assert "cannot be listened on" in capsys.readouterr().err
    assert main(["serve", "--port", "70000"]) == 2


def test_without_its_library_serve_says_what_to_install(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Where textual-serve is missing, the command names what brings it."""
    monkeypatch.setitem(sys.modules, "textual_serve.server", None)
    monkeypatch.delitem(sys.modules, "finishing_kg_tui.served.server", raising=False)
    assert main(["serve"]) == 2
    assert 'pip install "finishing-kg[serve]"' in capsys.readouterr().err
