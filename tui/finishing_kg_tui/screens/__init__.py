"""The screens: the bench, where all work is done, and the help page over it."""
