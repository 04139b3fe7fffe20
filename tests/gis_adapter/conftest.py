"""The tool for a desktop GIS needs its own Python, and the stand-in is a command: neither is imported."""

collect_ignore = ["run_adapter.py", "stand_in.py"]
