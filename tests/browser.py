"""A real browser without a window, driven over its DevTools protocol; the tests that need one are skipped where there is none."""

from __future__ import annotations

import asyncio
import base64
import re
import shutil
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import aiohttp

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
_OPTIONS = ("--headless", "--no-sandbox", "--disable-gpu", "--remote-debugging-port=0", "--window-size=1200,800", "--force-renderer-accessibility")


class Page:
    """One open page.

    Attributes:
        requested: the addresses of everything that it asked for.
    """

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self._socket, self._number = socket, 0
        self.requested: list[str] = []

    async def do(self, method: str, **given: Any) -> dict[str, Any]:
        """One command of the protocol, and its result."""
        self._number += 1
        await self._socket.send_json({"id": self._number, "method": method, "params": given})
        while True:
            message = await self._socket.receive_json(timeout=30)
            if message.get("method") == "Network.requestWillBeSent":
                self.requested.append(message["params"]["request"]["url"])
            elif message.get("method") == "Network.webSocketCreated":
                self.requested.append(message["params"]["url"])
            elif message.get("id") == self._number:
                assert "error" not in message, message
                result: dict[str, Any] = message["result"]
                return result

    async def click(self, x: float, y: float) -> None:
        """Press and let go the left button, as if the window lay in front."""
        await self.do("Emulation.setFocusEmulationEnabled", enabled=True)
        for kind in ("mousePressed", "mouseReleased"):
            await self.do("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    async def type(self, text: str) -> None:
        """Press the keys of a text one after the other; a line end is the enter key."""
        for letter in text:
            code = 13 if letter == "\n" else 0
            key, sent = ("Enter", "\r") if letter == "\n" else (letter, letter)
            await self.do("Input.dispatchKeyEvent", type="keyDown", key=key, text=sent, windowsVirtualKeyCode=code)
            await self.do("Input.dispatchKeyEvent", type="keyUp", key=key, windowsVirtualKeyCode=code)

    async def press(self, key: str) -> None:
        """Press a key that types nothing: ``F1`` to ``F12`` or ``Escape``."""
        code = 27 if key == "Escape" else 111 + int(key[1:])
        for kind in ("rawKeyDown", "keyUp"):
            await self.do("Input.dispatchKeyEvent", type=kind, key=key, code=key, windowsVirtualKeyCode=code)

    async def value(self, script: str) -> Any:
        """What an expression gives in the page."""
        return (await self.do("Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True))["result"].get("value")

    async def until(self, script: str, seconds: float = 40) -> Any:
        """The first true value of an expression.

        Raises:
            TimeoutError: it does not become true.
        """
        async with asyncio.timeout(seconds):
            while not (found := await self.value(script)):
                await asyncio.sleep(0.2)
            return found


@asynccontextmanager
async def opened(address: str, before: str = "") -> AsyncIterator[Page]:
    """A page opened in a fresh browser, which ends with the block.

    Args:
        address: of the page.
        before: a script that runs in the page before its own.
    """
    assert BROWSER is not None
    folder = tempfile.mkdtemp()
    process = await asyncio.create_subprocess_exec(BROWSER, *_OPTIONS, f"--user-data-dir={folder}", "about:blank", stderr=asyncio.subprocess.PIPE)
    try:
        assert process.stderr is not None
        async with asyncio.timeout(30):
            while not (found := re.search(rb"listening on ws://([\d.:]+)/", await process.stderr.readline())):
                pass
        async with aiohttp.ClientSession() as session:
            async with session.get(f"http://{found[1].decode()}/json/list") as told:
                target = next(each for each in await told.json() if each["type"] == "page")
            async with session.ws_connect(target["webSocketDebuggerUrl"], max_msg_size=0) as socket:
                page = Page(socket)
                for domain in ("Page", "Network", "Runtime"):
                    await page.do(f"{domain}.enable")
                if before:
                    await page.do("Page.addScriptToEvaluateOnNewDocument", source=before)
                await page.do("Page.navigate", url=address)
                await page.until("document.readyState === 'complete'")
                yield page
    finally:
        if process.returncode is None:
            process.kill()
        await process.wait()
        shutil.rmtree(folder, ignore_errors=True)


def data_of(result: dict[str, Any]) -> bytes:
    """The file in a result of the protocol."""
    return base64.b64decode(result["data"])
