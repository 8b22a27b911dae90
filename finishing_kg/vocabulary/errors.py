"""What is wrong with Turtle files."""


class OntologyError(Exception):
    """Turtle that cannot be read, or that says something the program cannot take in; the message says where."""
