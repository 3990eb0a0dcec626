"""Pages of plans: asked for, looked at, changed, compared, sent."""
