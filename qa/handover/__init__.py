"""Turns a closing into the one value a closeout package is made of."""
