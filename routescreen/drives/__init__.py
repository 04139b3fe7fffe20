"""Drives: the method catalogue as numbers and the vertical profile.

Room: may import ``assumptions``; knows nothing of files, the frame, or the search.
"""
