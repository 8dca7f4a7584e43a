/** Points of the aperture, in an order in which any first few are already spread over it. */

export type Disc = [number, number];

/** `count` points (a power of two) even over the unit disc, or the regular opening of `blades` blades of equal area. */
export function pupilDiscs(count: number, blades: number): Disc[] {
  const points: Disc[] = [];
  for (let k = 0; k < count; k++) {
    const i = reversed(k, count);
    const square = (i + 0.5) / count;
    const turn = fraction(i * 0.6180339887498949);
    points.push(blades >= 3 ? inPolygon(square, turn, blades) : [Math.sqrt(square) * Math.cos(2 * Math.PI * turn), Math.sqrt(square) * Math.sin(2 * Math.PI * turn)]);
  }
  return points;
}

function inPolygon(square: number, turn: number, blades: number): Disc {
  const circumradius = Math.sqrt((2 * Math.PI) / (blades * Math.sin((2 * Math.PI) / blades)));
  const sector = Math.min(blades - 1, Math.floor(turn * blades));
  const along = turn * blades - sector;
  const root = Math.sqrt(square) * circumradius;
  const corner = (n: number): Disc => [Math.cos((2 * Math.PI * n) / blades), Math.sin((2 * Math.PI * n) / blades)];
  const [x0, y0] = corner(sector);
  const [x1, y1] = corner(sector + 1);
  return [root * (x0 * (1 - along) + x1 * along), root * (y0 * (1 - along) + y1 * along)];
}

/** Two numbers in -0.5..0.5 for the place within a pixel, spread over the passes. */
export function withinPixel(k: number): Disc {
  return [fraction(0.5 + k * 0.7548776662466927) - 0.5, fraction(0.5 + k * 0.5698402909980532) - 0.5];
}

function reversed(k: number, count: number): number {
  let out = 0;
  for (let bit = count >> 1, rest = k; bit > 0; bit >>= 1, rest >>= 1) if (rest & 1) out += bit;
  return out;
}

const fraction = (v: number) => v - Math.floor(v);
