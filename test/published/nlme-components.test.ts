import { describe, expect, it } from 'vitest';
import { type Block, type ComponentFactor, remlFit } from '../../src/numerics/reml.ts';

/**
 * Nested and heteroscedastic variance components against R's nlme 3.1-162 (Pinheiro and Bates 2000, Mixed-Effects Models in S
 * and S-PLUS, Springer). The data sets Oxide (thickness of oxide on semiconductor wafers) and Machines (productivity of workers) are
 * those of that package; the reference values were printed by test/published/scripts/nlme-components.R.
 */
const OXIDE = `1,1,2006 1,1,1999 1,1,2007 1,2,1980 1,2,1988 1,2,1982 1,3,2000 1,3,1998 1,3,2007 2,1,1991 2,1,1990 2,1,1988
2,2,1987 2,2,1989 2,2,1988 2,3,1985 2,3,1983 2,3,1989 3,1,2000 3,1,2004 3,1,2004 3,2,2001 3,2,1996 3,2,2004 3,3,1999 3,3,2000
3,3,2002 4,1,1997 4,1,1994 4,1,1996 4,2,1996 4,2,2000 4,2,2002 4,3,1987 4,3,1990 4,3,1995 5,1,2013 5,1,2004 5,1,2009 5,2,2023
5,2,2018 5,2,2010 5,3,2020 5,3,2023 5,3,2015 6,1,2032 6,1,2036 6,1,2030 6,2,2018 6,2,2022 6,2,2026 6,3,2009 6,3,2010 6,3,2011
7,1,1984 7,1,1993 7,1,1993 7,2,1992 7,2,1992 7,2,1990 7,3,1996 7,3,1993 7,3,1987 8,1,1996 8,1,1989 8,1,1996 8,2,1997 8,2,1993
8,2,1996 8,3,1990 8,3,1989 8,3,1992`;
const MACHINES = `1,A,52 1,A,52.8 1,A,53.1 2,A,51.8 2,A,52.8 2,A,53.1 3,A,60 3,A,60.2 3,A,58.4 4,A,51.1 4,A,52.3 4,A,50.3
5,A,50.9 5,A,51.8 5,A,51.4 6,A,46.4 6,A,44.8 6,A,49.2 1,B,62.1 1,B,62.6 1,B,64 2,B,59.7 2,B,60 2,B,59 3,B,68.6 3,B,65.8
3,B,69.7 4,B,63.2 4,B,62.8 4,B,62.2 5,B,64.8 5,B,65 5,B,65.4 6,B,43.7 6,B,44.2 6,B,43 1,C,67.5 1,C,67.2 1,C,66.9 2,C,61.5
2,C,61.7 2,C,62.3 3,C,70.8 3,C,70.6 3,C,71 4,C,64.1 4,C,66.2 4,C,64 5,C,72.1 5,C,72 5,C,71.1 6,C,62 6,C,61.4 6,C,60.5`;

interface Row {
  outer: string;
  inner: string;
  y: number;
}

function rowsOf(text: string): Row[] {
  return text.split(/\s+/).map((cell) => {
    const [outer, inner, y] = cell.split(',');
    return { outer, inner, y: Number(y) };
  });
}

/** One column a group, 1 for its members. */
function groups(labels: readonly (string | undefined)[]): ComponentFactor {
  const names = [...new Set(labels.filter((label) => label !== undefined))];
  const z = new Float64Array(labels.length * names.length);
  labels.forEach((label, i) => {
    if (label !== undefined) z[i * names.length + names.indexOf(label)] = 1;
  });
  return { z, columns: names.length };
}

/** Each row its own column: independent scatter of the rows chosen. */
function residual(rows: readonly Row[], chosen: (row: Row) => boolean): ComponentFactor {
  return groups(rows.map((row, i) => (chosen(row) ? `row ${i}` : undefined)));
}

function nested(rows: readonly Row[]): Block {
  return {
    y: Float64Array.from(rows, (row) => row.y),
    design: new Float64Array(rows.length).fill(1),
    columns: 1,
    components: [
      groups(rows.map((row) => row.outer)),
      groups(rows.map((row) => `${row.outer}/${row.inner}`)),
      residual(rows, () => true),
    ],
  };
}

describe('variance components against nlme', () => {
  it('Oxide: lots, wafers within lots, sites', () => {
    const fit = remlFit([nested(rowsOf(OXIDE))], { start: [5, 5, 5] });
    expect(fit.converged).toBe(true);
    expect(fit.sigma[0]).toBeCloseTo(11.39768, 3);
    expect(fit.sigma[1]).toBeCloseTo(5.988802, 4);
    expect(fit.sigma[2]).toBeCloseTo(3.545341, 4);
  });

  it('Oxide, unbalanced: thirteen of the 72 rows taken out', () => {
    const out = new Set([3, 4, 11, 17, 18, 25, 26, 27, 40, 52, 53, 66, 70]);
    const rows = rowsOf(OXIDE).filter((_, i) => !out.has(i + 1));
    const fit = remlFit([nested(rows)], { start: [5, 5, 5] });
    expect(fit.sigma[0]).toBeCloseTo(11.664808, 3);
    expect(fit.sigma[1]).toBeCloseTo(5.370414, 3);
    expect(fit.sigma[2]).toBeCloseTo(3.687563, 4);
  });

  it('Machines: workers, machines within workers, a scatter of its own for every machine', () => {
    const rows = rowsOf(MACHINES);
    const machines = ['A', 'B', 'C'];
    const design = new Float64Array(rows.length * 3);
    rows.forEach((row, i) => {
      design[i * 3] = 1;
      const m = machines.indexOf(row.inner);
      if (m > 0) design[i * 3 + m] = 1;
    });
    const block: Block = {
      y: Float64Array.from(rows, (row) => row.y),
      design,
      columns: 3,
      components: [
        groups(rows.map((row) => row.outer)),
        groups(rows.map((row) => `${row.outer}/${row.inner}`)),
        ...machines.map((machine) => residual(rows, (row) => row.inner === machine)),
      ],
    };
    const fit = remlFit([block], { start: [3, 3, 1, 1, 1] });
    expect(fit.converged).toBe(true);
    expect(fit.sigma[0]).toBeCloseTo(4.779153, 3);
    expect(fit.sigma[1]).toBeCloseTo(3.727361, 3);
    expect(fit.sigma[2]).toBeCloseTo(1.147261, 3);
    expect(fit.sigma[3]).toBeCloseTo(1.147261 * 0.8738084, 3);
    expect(fit.sigma[4]).toBeCloseTo(1.147261 * 0.5864332, 3);
  });
});
