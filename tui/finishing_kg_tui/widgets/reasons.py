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

from finishing_kg_tui.knots import Knot, below

_NO_REASONS = "No reasons yet. An answer brings them; each line opens down to what it rests on."


class ReasonTree(Tree[Knot]):
    """A proof. Left and right close and open, as well as Enter."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "open", "Open", show=False),
        Binding("left", "close", "Close", show=False),
    ]

    def render_label(self, node: TreeNode[Knot], base_style: Style, style: Style) -> Text:
        """The label, cut with a sign where the panel ends; the full text stands below the tree."""
        label = super().render_label(node, base_style, style)
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

    def __init__(self) -> None:
        super().__init__(id="reasons")

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

    def root(self, knot: Knot | None) -> None:
        """Root the tree at a knot, its first row open; None empties it."""
        self.border_title = "Reasons"
        self.set_class(knot is None, "empty")
        tree = self.query_one(ReasonTree)
        tree.reset(Text(knot.text if knot else ""), knot)
        self.query_one("#line-text", Static).update(Content(knot.text if knot else ""))
        if knot:
            _hang(tree.root)
            tree.root.expand()
            if len(knot.members) == 1:  # one way to go is no choice
                _hang(tree.root.children[0])
                tree.root.children[0].expand()
                tree.move_cursor_to_line(1)

    @on(Tree.NodeExpanded)
    def _expanded(self, event: Tree.NodeExpanded[Knot]) -> None:
        _hang(event.node)

    @on(Tree.NodeHighlighted)
    def _chosen(self, event: Tree.NodeHighlighted[Knot]) -> None:
        self.query_one("#line-text", Static).update(Content(event.node.data.text if event.node.data else ""))
        self.query_one("#line-words").scroll_home(animate=False)


def _hang(node: TreeNode[Knot]) -> None:
    """Add what stands below a node, once."""
    if node.data is None or node.children:
        return
    for knot in below(node.data):
        node.add(Text(knot.text), knot, allow_expand=knot.opens)
