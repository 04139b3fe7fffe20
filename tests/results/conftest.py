"""The tools for a desktop GIS need its own Python and can't be imported here."""

collect_ignore = ["open_project.py", "render_layers.py"]
