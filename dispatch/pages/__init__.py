"""Small pages of dispatch: the board, a crew's day."""
