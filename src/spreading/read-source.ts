import { isAlias, isMap, isScalar, LineCounter, type Node, parseDocument, visit } from 'yaml';
import { BenchError } from '../bench/bench-error.ts';
import { checkSource, type Source } from './source.ts';

/**
 * Reads one source from the text of its file.
 *
 * @param file  name for messages
 * @throws BenchError at the first fault: not YAML, a key missing or unknown, a figure out of range, a hot spot beyond
 *   the face, shares that do not make 1
 * @example readSource('models/sources/heater.yaml', text).face // { width_mm: 37.4, depth_mm: 37.4 }
 */
export function readSource(file: string, text: string): Source {
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false, logLevel: 'silent' });
  const fault = (offset: number, what: string): BenchError => {
    const { line, col } = lines.linePos(offset);
    return new BenchError(file, Math.max(1, line), Math.max(1, col), what);
  };
  const broken = document.errors[0];
  if (broken) throw fault(broken.pos[0], `${broken.message}; a YAML file of one source is accepted`);
  visit(document, {
    Node: (_, node) => {
      const { anchor } = node as { anchor?: string };
      if (isAlias(node) || anchor)
        throw fault(node.range?.[0] ?? 0, 'anchors and aliases are not read; write the value out');
    },
    Pair: (_, { key }) => {
      if (!isScalar(key)) throw fault(0, 'a key is no plain word; a YAML file of one source is accepted');
    },
  });
  return checkSource(document.toJS(), (path, what, onKey) => {
    const inner = document.getIn(onKey ? path.slice(0, -1) : path, true) as Node | null | undefined;
    const node = onKey ? keyNode(inner, path[path.length - 1]) : inner;
    return fault(node?.range?.[0] ?? 0, what);
  });
}

function keyNode(map: Node | null | undefined, key: string): Node | undefined {
  if (!isMap(map)) return undefined;
  const pair = map.items.find((item) => isScalar(item.key) && String(item.key.value) === key);
  return pair?.key as Node | undefined;
}
