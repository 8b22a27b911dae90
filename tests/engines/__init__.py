"""Other engines that derive from the same rules: what ours is checked against and measured beside.

``program`` writes vocabulary, rules and facts out over integers; each ``by_...`` module puts that to one engine.
Nothing here uses ``finishing_kg.engine``.
"""
