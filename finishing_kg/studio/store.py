"""A SPARQL 1.1 store: where it is, and how it is asked.

Only the address that was given is asked, nothing that it sends on to; there is an end to how long and how much is waited for.
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

from rdflib.plugins.stores.sparqlstore import SPARQLUpdateStore
from rdflib.query import Result

from finishing_kg.studio.errors import fault
from finishing_kg.visible import visible
from finishing_kg.vocabulary.load import keep_rdflib_quiet

_SECONDS, _MOST_SECONDS, _MOST_BYTES = 10.0, 60.0, 16_000_000
_ACCEPTED = "application/n-triples, text/turtle;q=0.5, application/sparql-results+json"
# What comes in another form is not looked at: some name places elsewhere, which rdflib would fetch.
_KINDS = ("application/n-triples", "text/turtle", "application/sparql-results+json")
_IRI = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:[^\x00-\x20<>\"{}|^`\\\x7f-\x9f]+")
_HERE = ("localhost", "127.0.0.1", "::1")
_WAY_OUT = "For a user: --user NAME; for a token: the environment variable FINISHING_KG_STORE_TOKEN. They never stand in the address."


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


class Guarded(SPARQLUpdateStore):
    """rdflib's store, which waits for ever, follows everywhere and takes whatever comes; this one does not.

    Asking it and changing it raise ``StudioError`` where there is no answer, no good one, or no end to it.
    """

    def __init__(self, store: Store) -> None:
        super().__init__(store.url, update_endpoint=store.update)
        keep_rdflib_quiet()
        self._told = store

    def _query(self, query: str, *_: Any, **__: Any) -> Result:
        kind, data = self._answer(self._told.url, query, "query")
        if kind not in _KINDS:
            shown = visible(kind[:80])
            raise fault(f"What it answered is no answer of a SPARQL store as it was asked for ({shown}). Is this the right address?", self._told.url)
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
            with error:  # it holds the connection on which it came
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
