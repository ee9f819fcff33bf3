"""Small field trials: layout, power, analysis and a conclusion no stronger than the data."""
