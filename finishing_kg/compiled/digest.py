"""BLAKE2b (RFC 7693) by itself: ``hashlib`` would first load all of OpenSSL, which takes longer than all hashing done here."""

try:
    from _blake2 import blake2b
except ImportError:  # another Python than CPython may have it elsewhere
    from hashlib import blake2b

__all__ = ["blake2b"]
