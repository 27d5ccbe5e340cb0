"""Runs the Python tests and ends with one plain line: `N passed, N failed`."""

import pathlib
import sys
import unittest


def main():
    folder = pathlib.Path(__file__).resolve().parent
    suite = unittest.defaultTestLoader.discover(str(folder))
    result = unittest.TextTestRunner(verbosity=2).run(suite)
    failed = {test.id() for test, _ in result.failures + result.errors}
    passed = result.testsRun - len(failed)
    print(f"{max(passed, 0)} passed, {len(failed)} failed", flush=True)
    return 0 if result.wasSuccessful() and result.testsRun else 1


if __name__ == "__main__":
    sys.exit(main())
