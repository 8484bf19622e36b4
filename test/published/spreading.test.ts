import { describe, expect, it } from 'vitest';
import { finEfficiency } from '../../src/lab/heat-transfer.ts';
import type { Plate } from '../../src/surfaces/plate.ts';
import { plateRise } from '../../src/surfaces/plate-rise.ts';
import type { HeatPatch, Rectangle } from '../../src/surfaces/rectangle.ts';

describe('half-space', () => {
  // Handbook of Heat Transfer, 3rd ed. (Rohsenow, Hartnett and Cho 1998), chapter 3: isoflux square of half-widths 1 m on k = 1 W/mK, mean 0.2366 and centre 0.2805 K/W;
  // the resistance falls with the size. The walls of a block 10 000 times as wide take off 1 part in 10 000.
  it('is the handbook square, where the plate is a block without end', () => {
    const block: Plate = {
      width_mm: 20_000,
      depth_mm: 20_000,
      layers: [{ thickness_mm: 10_000, k_W_per_mK: 1 }],
      sink: { kind: 'isothermal' },
    };
    const square = { x_mm: 10_000, y_mm: 10_000, width_mm: 2, depth_mm: 2, power_W: 1 };
    expect(plateRise(block, [square], square).rise_K / 1000).toBeCloseTo(0.2366, 4);
    expect(plateRise(block, [square], { x_mm: 10_000, y_mm: 10_000 }).rise_K / 1000).toBeCloseTo(0.2805, 4);
  });
});

describe('flux channel', () => {
  // M. M. Yovanovich, University of Waterloo, course ME 651, worksheet "Resistance in Rectangle": strip over ε = 0.2 of the width of a
  // channel half as thick as wide, Bi = 100 under it: kR = 1.282458 in all, of which 0.51 is straight through plate and film.
  it('has the worked resistance of a strip over a fifth of its width', () => {
    const channel: Plate = {
      width_mm: 10,
      depth_mm: 4,
      layers: [{ thickness_mm: 5, k_W_per_mK: 100 }],
      sink: { kind: 'film', h_W_per_m2K: (100 * 100) / 0.01 },
    };
    const strip = { x_mm: 1, y_mm: 2, width_mm: 2, depth_mm: 4, power_W: 1 };
    expect(plateRise(channel, [strip], strip).rise_K * 100 * 0.004).toBeCloseTo(1.282458, 4);
  });
});

describe('composite walls and fins of the textbooks', () => {
  // From memory of Incropera, DeWitt, Fundamentals of Heat and Mass Transfer, chapter 3: a chip joined by an epoxy of
  // 0.9e-4 m²K/W to 8 mm of aluminium (238 W/mK), both faces to air, 100 W/m²K at 25 °C, 10⁴ W/m²: 75.3 °C.
  it('finds 75.3 °C for the chip on its substrate', () => {
    // the chip itself as a thin layer without resistance above the joint
    const stack: Plate = {
      width_mm: 10,
      depth_mm: 10,
      layers: [
        { thickness_mm: 0.5, k_W_per_mK: 1e6, joint_m2K_per_W: 0.9e-4 },
        { thickness_mm: 8, k_W_per_mK: 238 },
      ],
      sink: { kind: 'film', h_W_per_m2K: 100 },
    };
    const face = { x_mm: 5, y_mm: 5, width_mm: 10, depth_mm: 10 };
    const down = plateRise(stack, [{ ...face, power_W: 1 }], face).rise_K;
    const up = 1 / (100 * 1e-4);
    expect(25 + 1 / (1 / down + 1 / up)).toBeCloseTo(75.3, 1);
  });
  it('gives tanh(mL)/(mL)', () => {
    // tanh(1) = 0.76159
    expect(finEfficiency(40, Math.sqrt((200 * 4e-4) / 80), 200, 4e-4)).toBeCloseTo(0.76159, 5);
  });
});

/**
 * The same plate by finite volumes: nx × ny columns of equal cells, any layers, conjugate gradients with the columns
 * solved exactly as preconditioner. Nothing is shared with the series.
 */
function finiteVolumes(
  plate: Plate,
  sources: HeatPatch[],
  at: Rectangle,
  nx: number,
  ny: number,
  fineness: number,
): number {
  const dx = plate.width_mm / nx / 1000;
  const dy = plate.depth_mm / ny / 1000;
  const slices = plate.layers.flatMap((layer, l) => {
    const cellsPerLayer = fineness * Math.max(4, Math.ceil(layer.thickness_mm));
    return Array.from({ length: cellsPerLayer }, (_, i) => ({
      dz: layer.thickness_mm / 1000 / cellsPerLayer,
      k: layer.k_W_per_mK,
      joint: i === cellsPerLayer - 1 && l + 1 < plate.layers.length ? (layer.joint_m2K_per_W ?? 0) : 0,
    }));
  });
  const nz = slices.length;
  const n = nx * ny * nz;
  const down = slices.map((s, z) => {
    const next = slices[z + 1];
    if (next) return (dx * dy) / (s.dz / (2 * s.k) + next.dz / (2 * next.k) + s.joint);
    return (dx * dy) / (s.dz / (2 * s.k) + (plate.sink.kind === 'film' ? 1 / plate.sink.h_W_per_m2K : 0));
  });
  const multiply = (x: Float64Array, y: Float64Array) => {
    for (let j = 0, c = 0; j < ny; j += 1) {
      for (let i = 0; i < nx; i += 1) {
        for (let z = 0; z < nz; z += 1, c += 1) {
          const gx = (slices[z]!.k * dy * slices[z]!.dz) / dx;
          const gy = (slices[z]!.k * dx * slices[z]!.dz) / dy;
          let sum = down[z]! * (x[c]! - (z + 1 < nz ? x[c + 1]! : 0));
          if (z > 0) sum += down[z - 1]! * (x[c]! - x[c - 1]!);
          if (i > 0) sum += gx * (x[c]! - x[c - nz]!);
          if (i + 1 < nx) sum += gx * (x[c]! - x[c + nz]!);
          if (j > 0) sum += gy * (x[c]! - x[c - nx * nz]!);
          if (j + 1 < ny) sum += gy * (x[c]! - x[c + nx * nz]!);
          y[c] = sum;
        }
      }
    }
  };
  const covered = (r: Rectangle, i: number, j: number) => {
    const part = (lo: number, hi: number, x: number, w: number) =>
      Math.max(0, Math.min(hi, x + w / 2) - Math.max(lo, x - w / 2));
    return (
      part(i * dx * 1000, (i + 1) * dx * 1000, r.x_mm, r.width_mm) *
      part(j * dy * 1000, (j + 1) * dy * 1000, r.y_mm, r.depth_mm)
    );
  };
  const heat = new Float64Array(n);
  for (let j = 0; j < ny; j += 1)
    for (let i = 0; i < nx; i += 1)
      for (const s of sources)
        heat[(j * nx + i) * nz]! += (s.power_W * covered(s, i, j)) / (s.width_mm * s.depth_mm);
  const x = new Float64Array(n);
  const r = heat.slice();
  const z = new Float64Array(n);
  const q = new Float64Array(n);
  const side = slices.map((s) => 2 * s.k * s.dz * (dy / dx + dx / dy));
  const precondition = () => {
    const upper = new Float64Array(nz);
    for (let c = 0; c < n; c += nz) {
      for (let l = 0; l < nz; l += 1) {
        const above = l ? down[l - 1]! : 0;
        const pivot = down[l]! + above + side[l]! - (l ? above * upper[l - 1]! : 0);
        upper[l] = down[l]! / pivot;
        z[c + l] = (r[c + l]! + (l ? above * z[c + l - 1]! : 0)) / pivot;
      }
      for (let l = nz - 2; l >= 0; l -= 1) z[c + l]! += upper[l]! * z[c + l + 1]!;
    }
  };
  const dot = (a: Float64Array, b: Float64Array) => a.reduce((sum, v, i) => sum + v * b[i]!, 0);
  precondition();
  const p = z.slice();
  let rz = dot(r, z);
  const first = rz;
  for (let step = 0; step < 2000 && rz > 1e-13 * first; step += 1) {
    multiply(p, q);
    const alpha = rz / dot(p, q);
    for (let i = 0; i < n; i += 1) {
      x[i]! += alpha * p[i]!;
      r[i]! -= alpha * q[i]!;
    }
    precondition();
    const next = dot(r, z);
    for (let i = 0; i < n; i += 1) p[i] = z[i]! + (next / rz) * p[i]!;
    rz = next;
  }
  let sum = 0;
  let weight = 0;
  for (let j = 0; j < ny; j += 1) {
    for (let i = 0; i < nx; i += 1) {
      const shared = covered(at, i, j);
      if (shared === 0) continue;
      let flux = 0;
      for (const s of sources) flux += (s.power_W * covered(s, i, j)) / (s.width_mm * s.depth_mm) / (dx * dy);
      sum += shared * (x[(j * nx + i) * nz]! + (flux * slices[0]!.dz) / (2 * slices[0]!.k));
      weight += shared;
    }
  }
  return sum / weight;
}

describe('plate against finite volumes, to 0.5 %', () => {
  const film = { kind: 'film', h_W_per_m2K: 6000 } as const;
  const cases: [string, Plate, HeatPatch[], Rectangle][] = [
    [
      'an eccentric die on a copper base under a film',
      { width_mm: 40, depth_mm: 32, layers: [{ thickness_mm: 3, k_W_per_mK: 390 }], sink: film },
      [{ x_mm: 14, y_mm: 12, width_mm: 12, depth_mm: 8, power_W: 100 }],
      { x_mm: 14, y_mm: 12, width_mm: 12, depth_mm: 8 },
    ],
    [
      'a place far from a small plate’s die',
      { width_mm: 24, depth_mm: 18, layers: [{ thickness_mm: 3, k_W_per_mK: 390 }], sink: film },
      [{ x_mm: 7, y_mm: 6, width_mm: 6, depth_mm: 4, power_W: 100 }],
      { x_mm: 20, y_mm: 14, width_mm: 4, depth_mm: 4 },
    ],
    [
      'two sources on a held face',
      {
        width_mm: 40,
        depth_mm: 40,
        layers: [{ thickness_mm: 10, k_W_per_mK: 200 }],
        sink: { kind: 'isothermal' },
      },
      [
        { x_mm: 10, y_mm: 10, width_mm: 10, depth_mm: 10, power_W: 70 },
        { x_mm: 28, y_mm: 24, width_mm: 6, depth_mm: 14, power_W: 40 },
      ],
      { x_mm: 10, y_mm: 10, width_mm: 10, depth_mm: 10 },
    ],
    [
      'a lid on paste on a base',
      {
        width_mm: 36,
        depth_mm: 36,
        layers: [
          { thickness_mm: 2.5, k_W_per_mK: 390, joint_m2K_per_W: 8e-6 },
          { thickness_mm: 4, k_W_per_mK: 200 },
        ],
        sink: film,
      },
      [{ x_mm: 18, y_mm: 15, width_mm: 16, depth_mm: 10, power_W: 120 }],
      { x_mm: 18, y_mm: 15, width_mm: 16, depth_mm: 10 },
    ],
  ];
  it.each(cases)('%s', (_, plate, sources, at) => {
    const series = plateRise(plate, sources, at).rise_K;
    const [nx, ny] = [plate.width_mm, plate.depth_mm];
    const coarse = finiteVolumes(plate, sources, at, nx, ny, 1);
    const fine = finiteVolumes(plate, sources, at, 2 * nx, 2 * ny, 2);
    const cells = fine + (fine - coarse) / 3;
    expect(Math.abs(series / cells - 1), `series ${series} K, cells ${cells} K`).toBeLessThan(0.005);
  });
});
