"""The render tool needs a desktop GIS's own Python and can't be imported here."""

collect_ignore = ["render_layers.py"]
