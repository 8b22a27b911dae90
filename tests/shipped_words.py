"""The shipped vocabulary, read once from its Turtle for all tests of a process."""

from finishing_kg.places import shipped
from finishing_kg.vocabulary import load_vocabulary

VOCABULARY = load_vocabulary(shipped("ontology"))
