"""Small systems of linear equations."""


def solve_symmetric(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Return x with `matrix` x = `right`, for a few unknowns and a positive definite matrix.

    Gaussian elimination without pivoting, which such a matrix does not need.
    """
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    for pivot in range(size):
        for row in range(pivot + 1, size):
            factor = rows[row][pivot] / rows[pivot][pivot]
            rows[row] = [a - factor * b for a, b in zip(rows[row], rows[pivot], strict=True)]
    found = [0.0] * size
    for row in range(size - 1, -1, -1):
        known = sum(rows[row][column] * found[column] for column in range(row + 1, size))
        found[row] = (rows[row][size] - known) / rows[row][row]
    return found
