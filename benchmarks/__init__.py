"""What Loamery costs beside the solver it stands on; run ``python -m benchmarks``."""
