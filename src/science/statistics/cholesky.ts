/**
 * Cholesky decomposition of symmetric positive definite matrices, row by row in one array.
 * Source: Golub & Van Loan (2013), Matrix Computations, 4th ed., section 4.2.
 */
import { requireFinite, requireInRange } from '../guards.js';

/** Smallest pivot kept: rounding may push that of a nearly singular matrix below zero. */
const LEAST_PIVOT = 1e-12;

/**
 * Lower triangle L with L L' = A.
 * @param matrix A, size x size, row by row; only its lower triangle is read
 * @param size rows, at least 1
 * @returns L, row by row, zero above the diagonal
 * @throws PhysicsRangeError when the number of entries is not size x size, or an entry of the lower triangle is no finite number
 */
export function choleskyFactor(matrix: ArrayLike<number>, size: number): Float64Array {
  requireInRange('number of entries', matrix.length, '', size * size, size * size);
  const lower = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) {
    const rowI = i * size;
    for (let j = 0; j <= i; j += 1) {
      const rowJ = j * size;
      let rest = matrix[rowI + j] as number;
      for (let k = 0; k < j; k += 1) rest -= (lower[rowI + k] as number) * (lower[rowJ + k] as number);
      // What is no number anywhere in a row reaches its pivot.
      lower[rowI + j] =
        i === j
          ? Math.sqrt(Math.max(requireFinite('pivot', rest, ''), LEAST_PIVOT))
          : rest / (lower[rowJ + j] as number);
    }
  }
  return lower;
}

/**
 * x with L x = b.
 * @param lower from choleskyFactor
 */
export function solveLower(lower: Float64Array, size: number, right: ArrayLike<number>): Float64Array {
  const x = new Float64Array(size);
  for (let i = 0; i < size; i += 1) {
    const row = i * size;
    let rest = right[i] as number;
    for (let k = 0; k < i; k += 1) rest -= (lower[row + k] as number) * (x[k] as number);
    x[i] = rest / (lower[row + i] as number);
  }
  return x;
}

/**
 * x with L L' x = b.
 * @param lower from choleskyFactor
 */
export function solveCholesky(lower: Float64Array, size: number, right: ArrayLike<number>): Float64Array {
  const x = solveLower(lower, size, right);
  for (let i = size - 1; i >= 0; i -= 1) {
    let rest = x[i] as number;
    for (let k = i + 1; k < size; k += 1) rest -= (lower[k * size + i] as number) * (x[k] as number);
    x[i] = rest / (lower[i * size + i] as number);
  }
  return x;
}
