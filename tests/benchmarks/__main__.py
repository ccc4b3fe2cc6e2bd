"""``python -m tests.benchmarks``; see :mod:`tests.benchmarks.measure`."""

from tests.benchmarks.measure import main

if __name__ == "__main__":
    main()
