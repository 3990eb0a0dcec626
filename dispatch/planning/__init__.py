"""Searches for plans with an outside engine; `dispatch/domain/plan` says what a plan is."""
