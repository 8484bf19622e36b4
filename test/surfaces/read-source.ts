import { plainValue, YamlFile } from '../../src/bench/yaml-file.ts';
import { checkSource, type Source } from '../../src/surfaces/source-geometry.ts';

/** A source from the text of its file, as models/sources holds them, with the places of its faults. */
export function readSource(file: string, text: string): Source {
  const yaml = new YamlFile(file, text);
  return checkSource(plainValue(yaml.root), (path, what, onKey) =>
    yaml.fault(yaml.find(path.map(String), onKey), what),
  );
}
