"""Benchmarks, run by hand: `python -m tests.bench.bench_labels` and the others. They judge nothing, they print."""
