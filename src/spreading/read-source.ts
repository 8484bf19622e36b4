import { plainValue, YamlFile } from '../bench/yaml-file.ts';
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
  const yaml = new YamlFile(file, text);
  return checkSource(plainValue(yaml.root), (path, what, onKey) =>
    yaml.fault(yaml.find(path.map(String), onKey), what),
  );
}
