"""From what the maker states to the problems the search solves, one for every layout."""

from optimizer.layouts.free import any_problem
from optimizer.layouts.known import known_machine
from optimizer.layouts.orders import layouts_of, orders
from optimizer.layouts.problem import problem_for

__all__ = ["any_problem", "known_machine", "layouts_of", "orders", "problem_for"]
