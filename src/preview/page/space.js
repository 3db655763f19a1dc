// Vectors as arrays of three.

export const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const plus = (a, b) => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const less = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
export const times = (a, k) => [a[0] * k, a[1] * k, a[2] * k];
export const size = (a) => Math.hypot(a[0], a[1], a[2]);
export const middle = (low, high) => times(plus(low, high), 0.5);
export const along = (a, b, t) => plus(a, times(less(b, a), t));
