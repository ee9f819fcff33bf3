"""What using free material instead of bought fertiliser and landfill saves: mass, methane, money."""
