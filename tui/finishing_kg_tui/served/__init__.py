"""The interface in a browser: the same screens, drawn by a page that this machine serves and nothing else is asked for."""
