"""Corridor: the frame of nodes and everything that lies on it, brought onto it once.

Room: may import ``errors``, ``project``, ``assumptions`` and ``drives.methods``; opens no files and
knows nothing of the search, the money or the results.
"""
