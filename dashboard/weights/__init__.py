"""What stands between the book, the readings and the weight of wheels: gathering, wording, keeping."""
