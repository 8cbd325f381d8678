"""`rindwatch serve`, in which every kill comes as one does in life: to a part that has run for a while.

A part that ends again within a minute is started again after ever longer waits; a hundred kills in a row would measure
those waits. `tests/faults/test_supervisor.py` runs the command as it is.
"""

from collector import supervisor
from collector.cli import main

if __name__ == "__main__":
    supervisor.STEADY_S = 0.0
    main()
