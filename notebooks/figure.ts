/**
 * Tables and small charts for the notebooks: text, HTML and SVG, the same bytes from the same numbers.
 *
 * Colours are those of Okabe and Ito (2008), told apart by colour-blind readers; marks and dashes say the same a second time.
 */

interface Shown {
  [key: symbol]: () => Record<string, string>;
}

/** What a Deno kernel asks of an object that is the last thing in a cell. */
function shown(bundle: Record<string, string>): Shown {
  return { [Symbol.for('Jupyter.display')]: () => bundle };
}

const COLOURS = ['#0072b2', '#d55e00', '#009e73', '#cc79a7', '#8a6d00', '#56b4e9', '#444444'];
const DASHES = ['', '7 4', '2 3', '9 3 2 3', '5 5', '1 4', '12 4'];
const MARKS = ['circle', 'square', 'triangle', 'diamond', 'cross', 'circle', 'square'];

const escape = (text: string) =>
  text.replace(/[&<>"]/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[c] as string);
const px = (value: number) => String(Math.round(value * 10) / 10);

/** A table: aligned text, and HTML for readers who see it. Numbers stand at the right. */
export function table(head: readonly string[], rows: readonly (readonly string[])[]): Shown {
  const numeric = head.map((_, i) => rows.every((row) => /^([-−+]?[\d.]+( (of|to) [-−+]?[\d.]+)?|–)$/.test(row[i])));
  const width = head.map((name, i) => Math.max(name.length, ...rows.map((row) => row[i].length)));
  const line = (cells: readonly string[]) =>
    cells.map((cell, i) => (numeric[i] ? cell.padStart(width[i]) : cell.padEnd(width[i]))).join('  ').trimEnd();
  const align = (i: number) => ` style="text-align:${numeric[i] ? 'right' : 'left'}"`;
  return shown({
    'text/plain': [line(head), line(width.map((n) => '-'.repeat(n))), ...rows.map(line)].join('\n'),
    'text/html': [
      '<table>',
      `<thead><tr>${head.map((cell, i) => `<th scope="col"${align(i)}>${escape(cell)}</th>`).join('')}</tr></thead>`,
      '<tbody>',
      ...rows.map((row) => `<tr>${row.map((cell, i) => `<td${align(i)}>${escape(cell)}</td>`).join('')}</tr>`),
      '</tbody>',
      '</table>',
    ].join('\n'),
  });
}

/** Round numbers that divide a range into about `wanted` parts. */
function ticks(low: number, high: number, wanted: number): number[] {
  const rough = (high - low) / wanted;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * power).find((n) => n >= rough) as number;
  const first = Math.ceil(low / step - 1e-9);
  const found: number[] = [];
  for (let k = first; k * step <= high + 1e-9 * step; k++) found.push(Number((k * step).toPrecision(12)));
  return found;
}

function mark(shape: string, x: number, y: number, colour: string, hollow = false): string {
  const paint = `fill="${hollow ? '#ffffff' : colour}" stroke="${colour}" stroke-width="1.5"`;
  switch (shape) {
    case 'square':
      return `<rect x="${px(x - 3.5)}" y="${px(y - 3.5)}" width="7" height="7" ${paint}/>`;
    case 'triangle':
      return `<path d="M${px(x)} ${px(y - 4.5)}l4.5 8h-9z" ${paint}/>`;
    case 'diamond':
      return `<path d="M${px(x)} ${px(y - 5)}l5 5l-5 5l-5 -5z" ${paint}/>`;
    case 'cross':
      return `<path d="M${px(x - 4)} ${px(y - 4)}l8 8m0 -8l-8 8" ${paint}/>`;
    default:
      return `<circle cx="${px(x)}" cy="${px(y)}" r="4" ${paint}/>`;
  }
}

interface Frame {
  title: string;
  /** What the chart shows, in a sentence, for those who do not see it. */
  description: string;
  width: number;
  height: number;
}

function svg({ title, description, width, height }: Frame, body: readonly string[]): Shown {
  const id = title.toLowerCase().replace(/[^a-z0-9]+/g, '-');
  return shown({
    'text/plain': `${title}. ${description}`,
    'image/svg+xml': [
      `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="${id}-title ${id}-description" font-family="sans-serif" font-size="12" fill="#1b1b1b">`,
      `<title id="${id}-title">${escape(title)}</title>`,
      `<desc id="${id}-description">${escape(description)}</desc>`,
      `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
      `<text x="12" y="20" font-size="14" font-weight="bold">${escape(title)}</text>`,
      ...body,
      '</svg>',
    ].join('\n'),
  });
}

export interface Point {
  x: number;
  y: number;
  /** Ends of an interval about `y`. */
  low?: number;
  high?: number;
}

export interface Series {
  name: string;
  points: readonly Point[];
  /** Lines join the points (default), or marks stand alone. */
  marks?: boolean;
  /** Intervals as a shaded band; with marks they are whiskers. */
  band?: boolean;
}

export interface Chart {
  title: string;
  description: string;
  x: string;
  y: string;
  series: readonly Series[];
  /** Shaded stretch of x, such as the loads run. */
  shade?: { from: number; to: number; label: string };
}

/** Lines and marks over two axes, each series named at its right end. */
export function chart({ title, description, x, y, series, shade }: Chart): Shown {
  const [width, height, left, right, top, bottom] = [720, 380, 52, 176, 36, 46];
  const all = series.flatMap((s) => s.points);
  const xs = [...all.map((p) => p.x), ...(shade ? [shade.from, shade.to] : [])];
  const ys = all.flatMap((p) => [p.y, p.low ?? p.y, p.high ?? p.y]);
  const [x0, x1] = [Math.min(...xs), Math.max(...xs)];
  const pad = 0.05 * (Math.max(...ys) - Math.min(...ys));
  const [y0, y1] = [Math.min(...ys) - pad, Math.max(...ys) + pad];
  const X = (v: number) => left + ((v - x0) / (x1 - x0)) * (width - left - right);
  const Y = (v: number) => height - bottom - ((v - y0) / (y1 - y0)) * (height - top - bottom);
  const body: string[] = [];
  if (shade) {
    body.push(
      `<rect x="${px(X(shade.from))}" y="${top}" width="${px(X(shade.to) - X(shade.from))}" height="${height - top - bottom}" fill="#eef1f4"/>`,
      `<text x="${px(X(shade.from) + 6)}" y="${top + 16}" fill="#555555">${escape(shade.label)}</text>`,
    );
  }
  for (const v of ticks(y0, y1, 6)) {
    body.push(
      `<path d="M${left} ${px(Y(v))}H${width - right}" stroke="#d5d9dd" fill="none"/>`,
      `<text x="${left - 6}" y="${px(Y(v) + 4)}" text-anchor="end">${v}</text>`,
    );
  }
  for (const v of ticks(x0, x1, 7)) {
    body.push(`<text x="${px(X(v))}" y="${height - bottom + 16}" text-anchor="middle">${v}</text>`);
  }
  body.push(
    `<path d="M${left} ${height - bottom}H${width - right}" stroke="#1b1b1b" fill="none"/>`,
    `<text x="${px((left + width - right) / 2)}" y="${height - 10}" text-anchor="middle">${escape(x)}</text>`,
    `<text transform="translate(14 ${px((top + height - bottom) / 2)}) rotate(-90)" text-anchor="middle">${escape(y)}</text>`,
  );
  series.forEach((s, i) => {
    const colour = COLOURS[i % COLOURS.length];
    const path = (points: readonly (readonly [number, number])[]) =>
      `M${points.map(([a, b]) => `${px(X(a))} ${px(Y(b))}`).join('L')}`;
    if (s.band) {
      const upper = s.points.map((p) => [p.x, p.high ?? p.y] as const);
      const lower = s.points.map((p) => [p.x, p.low ?? p.y] as const).reverse();
      body.push(`<path d="${path([...upper, ...lower])}Z" fill="${colour}" fill-opacity="0.15"/>`);
    }
    if (!s.marks) {
      const dash = DASHES[i % DASHES.length];
      body.push(
        `<path d="${path(s.points.map((p) => [p.x, p.y]))}" fill="none" stroke="${colour}" stroke-width="2"${dash && ` stroke-dasharray="${dash}"`}/>`,
      );
      return;
    }
    for (const p of s.points) {
      if (p.low !== undefined && p.high !== undefined) {
        body.push(
          `<path d="M${px(X(p.x))} ${px(Y(p.low))}V${px(Y(p.high))}" stroke="${colour}" stroke-width="1.5" fill="none"/>`,
        );
      }
      body.push(mark(MARKS[i % MARKS.length], X(p.x), Y(p.y), colour));
    }
  });
  const ends = series.map((s, i) => ({ name: s.name, i, y: Y(s.points.at(-1)?.y ?? y0) }));
  ends.sort((a, b) => a.y - b.y);
  for (let k = 1; k < ends.length; k++) ends[k].y = Math.max(ends[k].y, ends[k - 1].y + 15);
  const over = Math.max(0, (ends.at(-1)?.y ?? 0) - (height - bottom));
  for (const end of ends) {
    const at = end.y - over;
    const colour = COLOURS[end.i % COLOURS.length];
    const dash = DASHES[end.i % DASHES.length];
    body.push(
      series[end.i].marks
        ? mark(MARKS[end.i % MARKS.length], width - right + 18, at, colour)
        : `<path d="M${width - right + 8} ${px(at)}h22" stroke="${colour}" stroke-width="2" fill="none"${dash && ` stroke-dasharray="${dash}"`}/>`,
      `<text x="${width - right + 36}" y="${px(at + 4)}">${escape(end.name)}</text>`,
    );
  }
  return svg({ title, description, width, height }, body);
}

export interface Interval {
  name: string;
  value: number;
  low: number;
  high: number;
  /** Stands at the right end, such as the letters of a tie. */
  note?: string;
  /** Drawn hollow: another kind than the rest. */
  hollow?: boolean;
}

/** One interval a line, names at the left. */
export function intervals(frame: {
  title: string;
  description: string;
  x: string;
  rows: readonly Interval[];
  /** A value to hold them against. */
  line?: number;
}): Shown {
  const { title, description, x, rows, line } = frame;
  const [width, left, right, top, bottom, step] = [720, 230, 90, 40, 46, 26];
  const height = top + rows.length * step + bottom;
  const values = rows.flatMap((row) => [row.low, row.high, row.value]);
  if (line !== undefined) values.push(line);
  const pad = 0.04 * (Math.max(...values) - Math.min(...values));
  const [x0, x1] = [Math.min(...values) - pad, Math.max(...values) + pad];
  const X = (v: number) => left + ((v - x0) / (x1 - x0)) * (width - left - right);
  const end = height - bottom;
  const body: string[] = [];
  for (const v of ticks(x0, x1, 6)) {
    body.push(
      `<path d="M${px(X(v))} ${top}V${end}" stroke="#d5d9dd" fill="none"/>`,
      `<text x="${px(X(v))}" y="${end + 16}" text-anchor="middle">${v}</text>`,
    );
  }
  if (line !== undefined) {
    body.push(
      `<path d="M${px(X(line))} ${top}V${end}" stroke="#1b1b1b" stroke-dasharray="4 3" fill="none"/>`,
    );
  }
  body.push(
    `<text x="${px((left + width - right) / 2)}" y="${height - 10}" text-anchor="middle">${escape(x)}</text>`,
  );
  rows.forEach((row, i) => {
    const at = top + (i + 0.5) * step;
    const colour = row.hollow ? COLOURS[1] : COLOURS[0];
    body.push(
      `<text x="${left - 10}" y="${px(at + 4)}" text-anchor="end">${escape(row.name)}</text>`,
      `<path d="M${px(X(row.low))} ${px(at)}H${px(X(row.high))}" stroke="${colour}" stroke-width="2" fill="none"/>`,
      mark('circle', X(row.value), at, colour, row.hollow),
    );
    if (row.note) body.push(`<text x="${width - right + 10}" y="${px(at + 4)}">${escape(row.note)}</text>`);
  });
  return svg({ title, description, width, height }, body);
}
