"""When what goes on: the problem, the solver, its checks and its ways out."""
