"""What studios publish in a graph of a store, and read from it: packs, and what comes back is trusted no more than one."""

from rdflib import Graph, Literal
from rdflib.namespace import DCTERMS, RDF
from rdflib.term import Node

from finishing_kg.engine import Knowledge
from finishing_kg.export.words import FK
from finishing_kg.studio.contents import Studio
from finishing_kg.studio.errors import fault
from finishing_kg.studio.linked import PACK, PARTS, graph_of_pack, owned, pack_of_graph, part_of
from finishing_kg.studio.pack import Pack, wrong_text
from finishing_kg.studio.store import Guarded, Store


def publish(store: Store, pack: Pack, alone: Studio) -> None:
    """Put a pack into a graph, in place of what was published under its name before; what others published there stays.

    Args:
        store: where.
        pack: what.
        alone: a studio that holds this pack and nothing else.

    Raises:
        StudioError: the store cannot be asked, or refuses; something of the pack is published there by others; or what it holds
            afterwards is not what was sent.
    """
    graph = graph_of_pack(pack, alone)
    asked = Guarded(store)
    if taken := _published_by_others(asked, store, pack, graph):
        raise fault(f"Others have published there already: {', '.join(taken)}. Give yours other identifiers, or take another graph.", store.url)
    asked.update(_replacing(store, pack, graph))
    if not _same(graph, _fetched(asked, store, pack.name)):
        raise fault("What the store holds now is not what was sent. Publish again; if it stays so, ask whoever looks after it.", store.url)


def withdraw(store: Store, name: str, studio: str) -> int:
    """Take out of a graph what a studio has published under a name; what others published there stays.

    Args:
        store: where.
        name: under which it is published.
        studio: what the studio is called; what another has published is not its to take back.

    Returns:
        How many statements were taken out.

    Raises:
        StudioError: as ``held_by``; or the store refuses, or holds some of it still.
    """
    asked = Guarded(store)
    held = held_by(store, name, studio)
    asked.update(_taking_out(store, name))
    if left := len(_fetched(asked, store, name)):
        raise fault(f"The store holds {left} statements of it still. Try again; if it stays so, ask whoever looks after it.", store.url)
    return held


def held_by(store: Store, name: str, studio: str) -> int:
    """How many statements a graph holds that a studio has published under a name.

    Raises:
        StudioError: the store cannot be asked, nothing is published there as this, or another studio has published it.
    """
    there = published(store)
    if name not in there:
        raise fault(f"Nothing is published in this graph as {name!r}. There is: {', '.join(there) or 'nothing'}.", store.graph)
    held = _fetched(Guarded(store), store, name)
    whose = next((str(title) for title in held.objects(PACK[name], DCTERMS.title)), studio)
    if whose != studio:
        text = f"What is published there as {name} is of {whose[:80]!r}, and this studio is {studio!r}. Only its own studio takes it back."
        raise fault(text, store.graph)
    return len(held)


def _same(sent: Graph, held: Graph) -> bool:
    """Whether a store holds what was sent, numbers compared by value: it may write them in another way. Of sources others may say more."""
    shared = set(_sources(sent))
    meant, found = ({(subject, predicate, _meant(value)) for subject, predicate, value in graph} for graph in (sent, held))
    return meant <= found and all(subject in shared for subject, _, _ in found - meant)


def _sources(graph: Graph) -> list[Node]:
    """What knowledge rests on; several studios may rest theirs on the same."""
    found = {node for kind in (FK.Source, FK.Ground) for node in graph.subjects(RDF.type, kind)}
    return sorted((node for node in found if (node, DCTERMS.title, None) in graph), key=str)


def _title(graph: Graph, source: Node) -> str:
    return next(graph.objects(source, DCTERMS.title)).n3()


def _meant(value: Node) -> object:
    """A value as it counts, however it is written."""
    return (value.datatype, value.language, value.value) if isinstance(value, Literal) and value.value is not None else value


def _mine(pack: str) -> str:
    return " ".join(part_of(pack, part).n3() for part in PARTS)


def _published_by_others(asked: Guarded, store: Store, pack: Pack, graph: Graph) -> list[str]:
    """What others have published under the same identifiers, and sources that they call by another title."""
    nodes = " ".join(node.n3() for node in owned(graph))
    titles = " ".join(f"({node.n3()} {_title(graph, node)})" for node in _sources(graph))
    found = asked.query(
        f"SELECT DISTINCT ?s WHERE {{ {{ VALUES ?s {{ {nodes} }} }} UNION "
        f"{{ VALUES (?s ?said) {{ {titles} }} GRAPH <{store.graph}> {{ ?s {DCTERMS.title.n3()} ?title }} FILTER(?title != ?said) }} "
        f"GRAPH <{store.graph}> {{ ?s {FK.publishedIn.n3()} ?part }} "
        f"FILTER(?part NOT IN ({', '.join(part_of(pack.name, part).n3() for part in PARTS)})) }} ORDER BY ?s LIMIT 20"
    )
    return [str(row[0]).rpartition("#")[2] for row in found if isinstance(row, tuple)]


def _replacing(store: Store, pack: Pack, graph: Graph) -> str:
    """One request, so that a store which keeps to the standard does all of it or nothing."""
    lines = "\n".join(" ".join(node.n3() for node in triple) + " ." for triple in sorted(graph))
    return f"""{_taking_out(store, pack.name)} ;
INSERT DATA {{ GRAPH <{store.graph}> {{
{lines}
}} }}
"""


def _taking_out(store: Store, name: str) -> str:
    """What takes out all that is published under a name and that nobody else says too."""
    within = f"GRAPH <{store.graph}>"
    published, mine = FK.publishedIn.n3(), _mine(name)
    told = f"{RDF.subject.n3()} ?s ; {RDF.predicate.n3()} ?p ; {RDF.object.n3()} ?o"
    others = f"FILTER NOT EXISTS {{ %s {published} ?other FILTER(?other NOT IN ({mine.replace(' ', ', ')})) }}"
    return f"""DELETE {{ {within} {{ ?s ?p ?o }} }}
WHERE {{ VALUES ?part {{ {mine} }} {within} {{ ?n {published} ?part ; a {FK.OtherName.n3()} ; {told} .
  {others % f"?m {told} ; "} }} }} ;
DELETE {{ {within} {{ ?s ?p ?o }} }}
WHERE {{ VALUES ?part {{ {mine} }} {within} {{ ?s {published} ?part ; ?p ?o . {others % "?s"} }} }} ;
DELETE {{ {within} {{ ?s {published} ?part }} }}
WHERE {{ VALUES ?part {{ {mine} }} {within} {{ ?s {published} ?part }} }}"""


def _fetched(asked: Guarded, store: Store, name: str) -> Graph:
    """What is published under a name, with the plain statement of each other name."""
    published, within = FK.publishedIn.n3(), f"GRAPH <{store.graph}>"
    told = f"?n {RDF.subject.n3()} ?s ; {RDF.predicate.n3()} ?p ; {RDF.object.n3()} ?o"
    found = asked.query(
        f"CONSTRUCT {{ ?s ?p ?o }} WHERE {{ VALUES ?part {{ {_mine(name)} }} "
        f"{{ {within} {{ ?s {published} ?part ; ?p ?o }} }} UNION "
        f"{{ {within} {{ ?n {published} ?part ; a {FK.OtherName.n3()} . {told} . ?s ?p ?o }} }} }}"
    )
    if found.graph is None:
        raise fault("What it answered is no graph. Is this the right address?", store.url)
    mine = {part_of(name, part) for part in PARTS}
    kept = Graph(bind_namespaces="none")
    for subject, predicate, value in found.graph:
        if predicate != FK.publishedIn or value in mine:
            kept.add((subject, predicate, value))
    return kept


def published(store: Store) -> list[str]:
    """The names of the packs that are published in a graph.

    Raises:
        StudioError: the store cannot be asked.
    """
    found = Guarded(store).query(
        f"SELECT DISTINCT ?name WHERE {{ GRAPH <{store.graph}> {{ ?pack a {FK.Pack.n3()} ; {DCTERMS.identifier.n3()} ?name }} }} "
        "ORDER BY ?name LIMIT 1000"
    )
    return [str(row[0]) for row in found if isinstance(row, tuple) and not wrong_text("name", str(row[0]))]


def read_published(store: Store, name: str | None, shipped: Knowledge) -> Pack:
    """Read a pack that is published in a graph.

    Args:
        store: where.
        name: which one; needed only where there are several.
        shipped: the shipped knowledge.

    Raises:
        StudioError: the store cannot be asked, there is no such pack, or it is not whole. What it says is not judged here.
    """
    there = published(store)
    shown = ", ".join(there)
    if not there:
        raise fault("Nothing is published in this graph that a studio could read.", store.graph)
    if name is None and len(there) > 1:
        raise fault(f"Several studios have published in this graph. Say whose: --from NAME, one of: {shown}", store.graph)
    chosen = name or there[0]
    if chosen not in there:
        raise fault(f"Nothing is published in this graph as {chosen!r}. There is: {shown}", store.graph)
    return pack_of_graph(_fetched(Guarded(store), store, chosen), chosen, shipped)
