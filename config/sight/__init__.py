"""Seeing what the queue does: its API, its metrics, and who may enter the admin.

Here and not in ``duework``, which knows neither the REST framework nor our roles,
so that it can be lifted out.
"""
