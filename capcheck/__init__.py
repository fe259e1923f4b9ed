"""capcheck: can this line of placement machines build this board?"""

__version__ = "0.1.0"
