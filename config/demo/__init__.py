"""The invented demonstration: people, pipes, days and evidence that exist nowhere."""
