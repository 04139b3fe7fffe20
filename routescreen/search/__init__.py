"""The search: alignment, method, shafts and drive profile chosen together, exactly.

Room: may import ``corridor``, ``engineering``, ``drives`` and ``money``; knows nothing of files,
results or the command line.
"""
