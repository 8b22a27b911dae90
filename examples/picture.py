"""Makes ``interface.png`` and ``plan-check.png`` beside this file: the interface after one question, with the reasons of a step open, and
its plan check with the route of that question taken over and one step changed.

Run by hand from the project's folder, with the project and its extra ``pdf`` installed, and a Chromium on the search path:
``python examples/picture.py``. Only the toolkit can draw the screen, and only as SVG; a browser turns that into a picture
that every page shows alike, and Pillow (which the extra brings) makes that small.
"""

import asyncio
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from finishing_kg_tui.app import FinishingApp
from PIL import Image
from textual.widgets import Input

QUESTION = "Relief cast panel in studio soda-lime glass, straight from the mould. What do I use to pre-polish it?"
# By picture the size in cells, and the keys after the question.
PICTURES = {
    # Up to the beginning of the answer; then to the route, down to its last step, and from reason to reason towards the rule that decided.
    "interface.png": (
        (120, 40),
        ("pageup", "pageup", "f2", "down", "down", "enter", "right", "down", "right", "right", "down", "right", "right", "down"),
    ),
    # The first step of the route is to be worked dry instead of wet.
    "plan-check.png": ((120, 24), ("f9", "down", "enter", "down", "down", "down", "down", "down", "enter", "d", "r", "y", "enter", "escape")),
}
COLOURS = 64  # enough for letters with soft edges in the few colours of a theme
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


async def draw(size: tuple[int, int], keys: tuple[str, ...]) -> str:
    """Ask the question and press keys.

    Args:
        size: columns and rows.
        keys: one after the other, each when what the one before does is done.

    Returns:
        The screen as SVG, without the rules that would fetch a font from elsewhere.
    """
    app = FinishingApp()
    async with app.run_test(size=size) as pilot:
        app.screen.query_one(Input).cursor_blink = False
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
        app.screen.query_one(Input).value = QUESTION
        for key in ("enter", *keys):
            await pilot.press(key)
            await pilot.pause()
            await app.workers.wait_for_complete()
            await pilot.pause()
        return re.sub(r"@font-face\s*\{.*?\}", "", app.export_screenshot(), flags=re.DOTALL)


def photograph(svg: str, picture: Path) -> None:
    """Let a browser without a window turn the SVG into a picture of its own size, in few colours.

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
    Image.open(picture).convert("RGB").quantize(COLOURS).save(picture, optimize=True)


if __name__ == "__main__":
    for name, (size, keys) in PICTURES.items():
        photograph(asyncio.run(draw(size, keys)), Path(__file__).resolve().with_name(name))
        print(name)
