"""What an uploaded photo or film says of itself, found out where it can do no harm."""
