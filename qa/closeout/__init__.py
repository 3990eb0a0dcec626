"""The closeout package a client gets: report, record, places, quantities, evidence, in one bag."""
