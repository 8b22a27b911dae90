"""A SPARQL 1.1 store: where it is, how it is asked, and what a studio publishes to it and reads from it.

Only the address that was given is asked, nothing that it sends on to; there is an end to how long and how much is waited for. What comes
back is read into a pack, and is trusted no more than one.
"""

import base64
import http.client
import io
import re
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from rdflib import Graph, Literal
from rdflib.namespace import RDF
from rdflib.plugins.stores.sparqlstore import SPARQLUpdateStore
from rdflib.query import Result
from rdflib.term import Node

from finishing_kg.engine import Knowledge
from finishing_kg.export.words import FK
from finishing_kg.studio.contents import Studio
from finishing_kg.studio.errors import fault
from finishing_kg.studio.linked import PARTS, graph_of_pack, owned, pack_of_graph, part_of
from finishing_kg.studio.pack import Pack, wrong_text

_SECONDS, _MOST_SECONDS, _MOST_BYTES = 10.0, 60.0, 16_000_000
_ACCEPTED = "application/n-triples, text/turtle;q=0.5, application/sparql-results+json"
_IRI = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:[^\x00-\x20<>\"{}|^`\\\x7f-\x9f]+")
_HERE = ("localhost", "127.0.0.1", "::1")
_WAY_OUT = 'For a user: --user NAME; for a token: the environment variable FINISHING_KG_STORE_TOKEN. They never stand in the address.'


@dataclass(frozen=True)
class Store:
    """A graph in a store.

    Attributes:
        url: where it is asked.
        update: where it takes changes.
        graph: the IRI of the graph in it.
        secret: what the header ``Authorization`` says; ``None`` where nobody need say who they are. It is never printed.
    """

    url: str
    update: str
    graph: str
    secret: str | None = field(default=None, repr=False)


def store_at(url: str, graph: str, update: str | None = None, secret: str | None = None) -> Store:
    """A graph in a store, if that is what the addresses name.

    Args:
        url: where it is asked.
        graph: the IRI of the graph.
        update: where it takes changes; unless given, ``/update`` beside an address that ends with ``/query``, else the same.
        secret: as in ``Store``.

    Raises:
        StudioError: an address that is none, that holds a name or a password, or to which a secret would go in plain sight.
    """
    for address in filter(None, (url, update)):
        _check_address(address, secret)
    if not _IRI.fullmatch(graph):
        raise fault("A graph is named by an IRI, such as: --graph https://our-school.example/glass", part="--graph")
    if secret is not None and (not secret.isascii() or not secret.isprintable()):
        raise fault("A user name, password or token that is sent holds plain letters only.")
    return Store(url, update or (url.removesuffix("/query") + "/update" if url.endswith("/query") else url), graph, secret)


def _check_address(address: str, secret: str | None) -> None:
    try:
        parts = urlsplit(address)
        host, _ = parts.hostname, parts.port
    except ValueError as error:
        raise fault(f"This is no address ({error}). Write one such as: https://store.example/query", part="URL") from error
    if "@" in parts.netloc:
        raise fault(f"An address holds no user name and no password: others could see them. {_WAY_OUT}", part="URL")
    if parts.scheme not in ("http", "https") or not host or not _IRI.fullmatch(address) or not address.isascii():
        raise fault("An address begins with https:// or http://, such as: https://store.example/query", part="URL")
    if parts.query or parts.fragment:
        raise fault("An address ends before its question mark; the graph is given with --graph.", part="URL")
    if secret is not None and parts.scheme == "http" and host not in _HERE:
        raise fault("To another machine a password or token goes by https:// only: by http:// others could read it.", part="URL")


def basic(user: str, password: str) -> str:
    """What the header ``Authorization`` says of a user."""
    return "Basic " + base64.b64encode(f"{user}:{password}".encode()).decode()


class _NothingElse(urllib.request.HTTPRedirectHandler):
    """Follows nowhere: what was given is what is asked, and what is secret goes to nobody else."""

    def redirect_request(self, *_: Any, **__: Any) -> None:
        return None


class _Guarded(SPARQLUpdateStore):
    """rdflib's store, which waits for ever, follows everywhere and takes whatever comes; this one does not."""

    def __init__(self, store: Store) -> None:
        super().__init__(store.url, update_endpoint=store.update)
        self._told = store

    def _query(self, query: str, *_: Any, **__: Any) -> Result:
        kind, data = self._answer(self._told.url, query, "query")
        try:
            result = Result.parse(io.BytesIO(data), content_type=kind)
            list(result)  # some of it is read only when it is looked at
        except Exception as error:  # each of rdflib's parsers fails in its own way
            raise fault(f"What it answered is no answer of a SPARQL store ({kind}). Is this the right address?", self._told.url) from error
        return result

    def _update(self, update: str) -> None:
        self._answer(self._told.update, update, "update")

    def _answer(self, address: str, text: str, what: str) -> tuple[str, bytes]:
        """What the server answers: of which kind, and all of it.

        Raises:
            StudioError: there is no answer, no good one, or no end to it.
        """
        headers = {"Content-Type": f"application/sparql-{what}; charset=UTF-8", "Accept": _ACCEPTED, "User-Agent": "finishing-kg"}
        headers |= {"Authorization": self._told.secret} if self._told.secret else {}
        request = urllib.request.Request(address, text.encode(), headers, method="POST")
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), _NothingElse)
        until = time.monotonic() + _MOST_SECONDS
        try:
            with opener.open(request, timeout=_SECONDS) as response:
                data = bytearray()
                while part := response.read1(65536):
                    data += part
                    if len(data) > _MOST_BYTES:
                        raise fault(f"It answered with more than {_MOST_BYTES} bytes, and was left off. Is this the right graph?", address)
                    if time.monotonic() > until:
                        raise TimeoutError
                if response.length:
                    raise http.client.IncompleteRead(bytes(data))
                return response.headers.get_content_type(), bytes(data)
        except urllib.error.HTTPError as error:
            raise fault(_told_by(error), address) from error
        except (TimeoutError, urllib.error.URLError, http.client.HTTPException, OSError, ValueError) as error:
            raise fault(_why(error), address) from error


def _told_by(error: urllib.error.HTTPError) -> str:
    """What a refusal means."""
    if 300 <= error.code < 400:
        elsewhere = str(error.headers.get("Location", "somewhere else"))[:200]
        return f"It sends on to {elsewhere}. Only the address that you gave is asked; if that is the right one, give it."
    if error.code in (401, 403):
        return f"It wants to know who asks, or does not allow it ({error.code}). {_WAY_OUT}"
    if error.code in (404, 405, 415):
        return f"Nothing answers to SPARQL there ({error.code}). Is this the address that the store's pages give for it?"
    return f"It refused ({error.code} {error.reason}). Ask whoever looks after the store."


def _why(error: Exception) -> str:
    """What kept a server from answering."""
    reason = getattr(error, "reason", error)
    if isinstance(reason, TimeoutError):
        return "It did not answer in time. If something was being sent, the same command again sends it safely."
    if isinstance(reason, ConnectionRefusedError):
        return "No server answers there. Is it running, and is the port right?"
    return f"It could not be asked ({str(reason)[:200] or type(reason).__name__})."


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
    asked = _Guarded(store)
    if taken := _published_by_others(asked, store, pack, graph):
        raise fault(f"Others have published there already: {', '.join(taken)}. Give yours other identifiers, or take another graph.", store.url)
    asked.update(_replacing(store, pack, graph))
    if not _same(graph, _fetched(asked, store, pack.name)):
        raise fault("What the store holds now is not what was sent. Publish again; if it stays so, ask whoever looks after it.", store.url)


def _same(sent: Graph, held: Graph) -> bool:
    """Whether a store holds what was sent, numbers compared by value: it may write them in another way. Of sources others may say more."""
    shared = {node for kind in (FK.Source, FK.Ground) for node in sent.subjects(RDF.type, kind)}
    meant, found = ({(subject, predicate, _meant(value)) for subject, predicate, value in graph} for graph in (sent, held))
    return meant <= found and all(subject in shared for subject, _, _ in found - meant)


def _meant(value: Node) -> object:
    """A value as it counts, however it is written."""
    return (value.datatype, value.language, value.value) if isinstance(value, Literal) and value.value is not None else value


def _mine(pack: str) -> str:
    return " ".join(part_of(pack, part).n3() for part in PARTS)


def _published_by_others(asked: _Guarded, store: Store, pack: Pack, graph: Graph) -> list[str]:
    nodes = " ".join(node.n3() for node in owned(graph))
    found = asked.query(
        f"SELECT DISTINCT ?s WHERE {{ VALUES ?s {{ {nodes} }} GRAPH <{store.graph}> {{ ?s {FK.publishedIn.n3()} ?part }} "
        f"FILTER(?part NOT IN ({', '.join(part_of(pack.name, part).n3() for part in PARTS)})) }} ORDER BY ?s LIMIT 20"
    )
    return [str(row[0]).rpartition("#")[2] for row in found if isinstance(row, tuple)]


def _replacing(store: Store, pack: Pack, graph: Graph) -> str:
    """One request, so that a store which keeps to the standard does all of it or nothing."""
    within = f"GRAPH <{store.graph}>"
    published, mine = FK.publishedIn.n3(), _mine(pack.name)
    told = f"{RDF.subject.n3()} ?s ; {RDF.predicate.n3()} ?p ; {RDF.object.n3()} ?o"
    others = f"FILTER NOT EXISTS {{ %s {published} ?other FILTER(?other NOT IN ({mine.replace(' ', ', ')})) }}"
    lines = "\n".join(" ".join(node.n3() for node in triple) + " ." for triple in sorted(graph))
    return f"""DELETE {{ {within} {{ ?s ?p ?o }} }}
WHERE {{ VALUES ?part {{ {mine} }} {within} {{ ?n {published} ?part ; a {FK.OtherName.n3()} ; {told} .
  {others % f"?m {told} ; "} }} }} ;
DELETE {{ {within} {{ ?s ?p ?o }} }}
WHERE {{ VALUES ?part {{ {mine} }} {within} {{ ?s {published} ?part ; ?p ?o . {others % "?s"} }} }} ;
DELETE {{ {within} {{ ?s {published} ?part }} }}
WHERE {{ VALUES ?part {{ {mine} }} {within} {{ ?s {published} ?part }} }} ;
INSERT DATA {{ {within} {{
{lines}
}} }}
"""


def _fetched(asked: _Guarded, store: Store, name: str) -> Graph:
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
    found = _Guarded(store).query(
        f"SELECT DISTINCT ?name WHERE {{ GRAPH <{store.graph}> {{ ?pack a {FK.Pack.n3()} ; <http://purl.org/dc/terms/identifier> ?name }} }} "
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
    return pack_of_graph(_fetched(_Guarded(store), store, chosen), chosen, shipped)
