"""What is made better on a finished plan, off the frame, without ever making it dearer.

Room: ``polish``. Between ``search`` and ``audit``. Judges with ``corridor``'s rules and prices with
``search``'s and the take-off's; finds no crossing and knows no price of its own.
"""
