"""How long the work takes: ``make bench``."""

from pitreckon.work.lean import one_thread_for_matrices

one_thread_for_matrices()  # as in a command; idle threads of the linear algebra spin, and that is processor time, too
