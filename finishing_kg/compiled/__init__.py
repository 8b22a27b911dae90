"""Compiled forms of the shipped files, kept from one start of the program to the next.

A compiled form is a cache: plain data, never code, and never the truth. Whatever is off about it, it is made again from
the files, and where it cannot be kept everything still works.
"""

from finishing_kg.compiled.key import key_of
from finishing_kg.compiled.sections import Sections, load_sections, shaped

__all__ = ["Sections", "key_of", "load_sections", "shaped"]
