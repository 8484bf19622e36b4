import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../../', import.meta.url));
const docs = join(root, 'docs');

function pagesIn(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    return entry.isDirectory() ? pagesIn(path) : entry.name.endsWith('.md') ? [path] : [];
  });
}

/** Anchors of a page as its headings make them. */
function anchorsOf(text: string): Set<string> {
  const headings = text.replace(/^```[\s\S]*?^```/gm, '').match(/^#+ .*$/gm) ?? [];
  const seen = new Map<string, number>();
  return new Set(
    headings.map((heading) => {
      const anchor = heading
        .replace(/^#+ /, '')
        .toLowerCase()
        .replace(/[^\p{L}\p{N} _-]/gu, '')
        .replaceAll(' ', '-');
      const before = seen.get(anchor) ?? 0;
      seen.set(anchor, before + 1);
      return before === 0 ? anchor : `${anchor}-${before}`;
    }),
  );
}

describe('documentation', () => {
  it.each(pagesIn(docs).map((path) => path.slice(docs.length + 1)))('%s has no dead link', (page) => {
    const text = readFileSync(join(docs, page), 'utf8').replace(/^```[\s\S]*?^```/gm, '');
    for (const [, target] of text.matchAll(/\]\(([^)\s]+)\)/g)) {
      if (/^https?:/.test(target)) continue;
      const [file, anchor] = target.split('#');
      const path = file === '' ? join(docs, page) : join(docs, dirname(page), file);
      expect(existsSync(path), `${page} links to ${target}`).toBe(true);
      if (anchor === undefined) continue;
      expect([...anchorsOf(readFileSync(path, 'utf8'))], `${page} links to ${target}`).toContain(anchor);
    }
  });

  it('has every page in its index', () => {
    const indexes = ['README.md', 'commands/README.md'].map((name) => {
      const text = readFileSync(join(docs, name), 'utf8');
      return [...text.matchAll(/\]\(([^)#\s]+)/g)].map(([, target]) => join(docs, dirname(name), target));
    });
    const listed = new Set(indexes.flat());
    const missing = pagesIn(docs).filter((path) => path !== join(docs, 'README.md') && !listed.has(path));
    expect(missing.map((path) => path.slice(docs.length + 1))).toEqual([]);
  });
});
