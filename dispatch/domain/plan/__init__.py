"""Who does which repair when: the problem, the plan, its exact clock, its price and its reasons."""
