"""Makes ``interface.png`` beside this file: the interface after one question, with the reasons of a step open.

Run by hand from the project's folder, with the project installed and a Chromium on the search path:
``python examples/picture.py``. Only the toolkit can draw the screen, and only as SVG; a browser turns that into a picture
that every page shows alike.
"""

import asyncio
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from finishing_kg_tui.app import FinishingApp
from textual.widgets import Input

QUESTION = "Relief cast panel in studio soda-lime glass, straight from the mould. What do I use to pre-polish it?"
SIZE = (120, 40)
# Up to the beginning of the answer; then to the route, down to its last step, and from reason to reason towards the rule that decided.
KEYS = ("pageup", "pageup", "f2", "down", "down", "enter", "right", "down", "right", "right", "down", "right", "right", "down")
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


async def draw() -> str:
    """Ask the question and open the reasons of the last step.

    Returns:
        The screen as SVG, without the rules that would fetch a font from elsewhere.
    """
    app = FinishingApp()
    async with app.run_test(size=SIZE) as pilot:
        app.screen.query_one(Input).cursor_blink = False
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
        app.screen.query_one(Input).value = QUESTION
        for key in ("enter", *KEYS):
            await pilot.press(key)
            await pilot.pause()
            await app.workers.wait_for_complete()
            await pilot.pause()
        return re.sub(r"@font-face\s*\{.*?\}", "", app.export_screenshot(), flags=re.DOTALL)


def photograph(svg: str, picture: Path) -> None:
    """Let a browser without a window turn the SVG into a picture of its own size.

    Raises:
        SystemExit: there is no browser.
    """
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        raise SystemExit(f"No browser found; looked for {', '.join(BROWSERS)}.")
    size = re.search(r'viewBox="0 0 (\d+)[.\d]* (\d+)', svg)
    assert size is not None, "the SVG names no size"
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "interface.html"
        page.write_text(f'<meta charset="utf-8"><body style="margin:0">{svg}', encoding="utf-8")
        options = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", f"--user-data-dir={folder}/profile"]
        shot = [f"--window-size={size[1]},{size[2]}", f"--screenshot={picture}", page.as_uri()]
        subprocess.run([browser, *options, *shot], check=True, capture_output=True)


if __name__ == "__main__":
    target = Path(__file__).resolve().with_name("interface.png")
    photograph(asyncio.run(draw()), target)
    print(target.name)
