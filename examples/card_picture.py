"""Makes ``card.png`` beside this file: the card of the relief as a browser shows it.

Run by hand from the project's folder, with the project installed and a Chromium on the search path:
``python examples/card_picture.py``; with ``--scheme dark`` it makes ``card-dark.png``, which README does not show.
"""

import argparse
import shutil
import subprocess
import tempfile
from pathlib import Path

from finishing_kg.card import card_of, written
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge

QUESTION = "Relief cast panel in studio soda-lime glass, straight from the mould. What do I use to pre-polish it?"
SIZE = "1100,1180"
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
SCHEMES = {"dark": 0, "light": 1}  # as the browser numbers what a page may prefer


def photograph(page: str, scheme: str, picture: Path) -> None:
    """Let a browser without a window show a page and take its picture.

    Raises:
        SystemExit: there is no browser.
    """
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        raise SystemExit(f"No browser found; looked for {', '.join(BROWSERS)}.")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "card.html"
        file.write_text(page, encoding="utf-8")
        options = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", f"--user-data-dir={folder}/profile"]
        shown = [f"--blink-settings=preferredColorScheme={SCHEMES[scheme]}", f"--window-size={SIZE}", f"--screenshot={picture}"]
        subprocess.run([browser, *options, *shown, file.as_uri()], check=True, capture_output=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Draw the card of the relief.")
    parser.add_argument("--scheme", choices=SCHEMES, default="light")
    asked = parser.parse_args()
    knowledge = Knowledge.shipped()
    card = card_of(Dialogue(knowledge, whole=True).say(QUESTION), knowledge.vocabulary)
    target = Path(__file__).resolve().with_name("card.png" if asked.scheme == "light" else f"card-{asked.scheme}.png")
    photograph(str(written(card, "html")), asked.scheme, target)
    print(target.name)
