"""The parts of the screen. Each shows one thing and says by a message what the maker did with it."""
