"""Money: the bill items, what a plan needs of each, what it costs.

Room: ``money``. May import ``assumptions``, ``project``, ``plan``, ``engineering`` and ``drives``; knows
no files and no search. Whoever prices or measures a plan uses ``measure``; ``bill`` writes the lines.
"""
