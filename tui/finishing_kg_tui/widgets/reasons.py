"""The reasons as a tree that opens step by step, with the chosen line in full below it."""

from __future__ import annotations

from typing import ClassVar

from rich.style import Style
from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static, Tree
from textual.widgets.tree import TreeNode

from finishing_kg_tui.follow import Follows, Subject, follow_bindings, keys_line
from finishing_kg_tui.knots import LEVELS, InLines, Knot, Level, below

_NO_REASONS = "No reasons yet. An answer brings them; each line opens down to what it rests on."


_MOST_BACK = 50


class ReasonTree(Follows, Tree[Knot]):
    """A proof. Left and right close and open, as well as Enter; 1, 2 and 3 choose how much is told."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "open", "Open", show=False),
        Binding("left", "close", "Close", show=False),
        *follow_bindings(),
    ]

    def follow_subject(self) -> Subject | None:
        """The chosen line as what a follow-up is about."""
        knot = self.cursor_node.data if self.cursor_node else None
        if knot is None:
            return None
        # A heading stands for the one reason below it.
        meant = knot if knot.rid or len(knot.members) != 1 else knot.members[0]
        rule = (meant.reason.rule or "") if meant.reason else ""
        # What a rule was about here stands in its variables.
        bound = ", ".join(meant.reason.bindings.values()) if meant.reason else ""
        return Subject(text=f"{knot.text}. {bound}", copied=knot.text, rid=meant.rid or "", reasons=meant.reasons, rule=rule, option=knot.option)

    def render_label(self, node: TreeNode[Knot], base_style: Style, style: Style) -> Text:
        """The label, cut with a sign where the panel ends; the full text stands below the tree."""
        label = super().render_label(node, base_style, style)
        if node.data and node.data.note:
            label.append(f"  [{node.data.note}]", Style(italic=True))
        depth, above = 0, node.parent
        while above:
            depth, above = depth + 1, above.parent
        label.truncate(max(8, self.size.width - depth * self.guide_depth - 1), overflow="ellipsis")
        return label

    def action_open(self) -> None:
        """Open the chosen knot, or go down into it if it is open."""
        node = self.cursor_node
        if node and node.allow_expand:
            if node.is_expanded and node.children:
                self.move_cursor(node.children[0])
            else:
                node.expand()

    def action_close(self) -> None:
        """Close the chosen knot, or go up to the one it hangs on."""
        node = self.cursor_node
        if node and node.allow_expand and node.is_expanded:
            node.collapse()
        elif node and node.parent:
            self.move_cursor(node.parent)


class ReasonsPanel(Vertical):
    """Why. The root is whatever is looked into: the answer, a step, or everything."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("1", "level('line')", "One line", show=False),
        Binding("2", "level('short')", "Short", show=False),
        Binding("3", "level('whole')", "Whole", show=False),
        Binding("backspace", "back", "Back", show=False),
    ]

    def __init__(self) -> None:
        super().__init__(id="reasons")
        self.level: Level = "whole"
        self._in_lines: InLines | None = None
        self._roots: list[Knot] = []

    def compose(self) -> ComposeResult:
        """The tree and the full text of its chosen line."""
        yield Static(_NO_REASONS, id="no-reasons", markup=False)
        tree = ReasonTree(Text(""), id="proof")
        tree.guide_depth = 3
        yield tree
        with VerticalScroll(id="line-words"):
            yield Static("", id="line-text", markup=False)

    def on_mount(self) -> None:
        """Begin empty."""
        self.root(None)

    def root(self, knot: Knot | None, in_lines: InLines | None = None) -> None:
        """Root the tree at a knot, its first row open; None empties it.

        Args:
            knot: What is looked into.
            in_lines: Tells its reasons in a few lines.
        """
        self._in_lines = in_lines or self._in_lines
        self._roots = [*self._roots, knot][-_MOST_BACK:] if knot else []
        self._show()

    def action_level(self, level: Level) -> None:
        """Tell more or less."""
        self.level = level
        self._show()

    def action_back(self) -> None:
        """Back to what was looked into before."""
        if len(self._roots) > 1:
            self._roots.pop()
            self._show()

    def _show(self) -> None:
        knot = self._roots[-1] if self._roots else None
        if knot and knot.rid and self.level != "whole" and not knot.upward:
            knot = Knot(knot.text, members=(knot,))
        told = " · ".join(f"[{key} {name}]" if level == self.level else f"{key} {name}" for key, (level, name) in enumerate(LEVELS.items(), 1))
        self.border_title = Content(f"Reasons · {told}" if knot else "Reasons")
        self.set_class(knot is None, "empty")
        tree = self.query_one(ReasonTree)
        tree.reset(Text(knot.text if knot else ""), knot)
        if knot:
            self._hang(tree.root)
            tree.root.expand()
            for node in tree.root.children:
                if self._opens_at_once(knot, node):
                    self._hang(node)
                    node.expand()
            if len(tree.root.children) == 1:  # one way to go is no choice
                tree.move_cursor_to_line(1)
        self._tell(tree.root.children[0].data if len(tree.root.children) == 1 else knot)

    def _opens_at_once(self, root: Knot, node: TreeNode[Knot]) -> bool:
        """Whether a line stands open from the start: where it is the only one, told in short, or a head of what rests on something."""
        told = node.data is not None and node.data.told
        return root.upward or (self.level == "short" and told) or (len(root.members) == 1 and node.allow_expand)

    def _tell(self, knot: Knot | None) -> None:
        """The chosen line in full."""
        note = f"  [{knot.note}]" if knot and knot.note else ""
        self.query_one("#line-text", Static).update(Content(f"{knot.text}{note}" if knot else ""))
        self.query_one("#line-words").scroll_home(animate=False)

    @on(Tree.NodeExpanded)
    def _expanded(self, event: Tree.NodeExpanded[Knot]) -> None:
        self._hang(event.node)

    @on(Tree.NodeHighlighted)
    def _chosen(self, event: Tree.NodeHighlighted[Knot]) -> None:
        self._tell(event.node.data)

    def on_descendant_focus(self) -> None:
        """Say which keys there are."""
        self.border_subtitle = f"1 2 3 detail · {keys_line('why', 'why_not', 'what_if', 'rests_on_it', 'around')}"

    def on_descendant_blur(self) -> None:
        """The keys are another part's now."""
        self.border_subtitle = ""

    def _hang(self, node: TreeNode[Knot]) -> None:
        """Add what stands below a node, once."""
        if node.data is None or node.children:
            return
        for knot in below(node.data, self.level, self._in_lines):
            node.add(Text(knot.text), knot, allow_expand=knot.opens)
