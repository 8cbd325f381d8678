"""Copy this file onto the board as main.py: it starts the program in the folder node."""

from node import settings
from node.board import Board
from node.main import run

run(Board(settings), settings)
