"""Colours for a dim workshop, a bright one, and for eyes that need strong contrast."""

from textual.theme import Theme

DARK = Theme(
    name="lamp-light",
    primary="#7fb7c9",
    secondary="#9db4a0",
    accent="#e0b973",
    warning="#f0a868",
    error="#f08a80",
    success="#8fcf9a",
    foreground="#e6e4dc",
    background="#15191c",
    surface="#1b2125",
    panel="#252d32",
    dark=True,
    variables={"edge": "#5d737d", "guide": "#8fa6ae", "quiet": "#a9b4b5"},
)

LIGHT = Theme(
    name="daylight",
    primary="#1f5f75",
    secondary="#44624a",
    accent="#7a5200",
    warning="#8f4300",
    error="#a02018",
    success="#1f6b35",
    foreground="#1c2022",
    background="#f5f3ec",
    surface="#ebe8df",
    panel="#dedad0",
    dark=False,
    variables={"edge": "#6b7a7e", "guide": "#4e5f64", "quiet": "#4d585b"},
)

CONTRAST = Theme(
    name="high-contrast",
    primary="#ffffff",
    secondary="#ffffff",
    accent="#ffe100",
    warning="#ffb000",
    error="#ff9a8f",
    success="#8fffa0",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#1c1c1c",
    dark=True,
    luminosity_spread=0.05,
    text_alpha=1.0,
    variables={"edge": "#ffffff", "guide": "#ffffff", "quiet": "#ffffff", "text-muted": "#ffffff", "text-disabled": "#d0d0d0"},
)

THEMES = (DARK, LIGHT, CONTRAST)


def after(name: str) -> Theme:
    """The theme that follows the named one, round and round; the first after any other."""
    names = [theme.name for theme in THEMES]
    return THEMES[(names.index(name) + 1) % len(THEMES)] if name in names else THEMES[0]
