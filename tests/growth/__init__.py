"""Whatever people hand over, four times as much of it takes about four times the work."""
