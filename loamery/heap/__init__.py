"""The heap: what comes out of a batch of compost, and when."""
