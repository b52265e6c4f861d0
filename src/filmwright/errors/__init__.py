"""What can be wrong with an input, said once and in one shape.

A :class:`Problem` has the same fields as a finding of ``review``; the command line, the pages and JSON print it
alike. Readers collect all problems of a file and raise one :class:`BadInput`.
"""

from filmwright.errors.problems import BadInput, OutOfReach, Problem, Problems, nearest

__all__ = ["BadInput", "OutOfReach", "Problem", "Problems", "nearest"]
