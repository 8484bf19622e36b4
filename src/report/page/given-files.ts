/** Tables, settings and models; which of them the bench reads, its reader in the worker says. */
const MAY_BE_READ = /^[^.][^/]*\.(csv|ya?ml)$|^(logs|flatness|models)\/.*\.(csv|ya?ml)$/i;
/** Folders within folders that are looked into. */
const DEEPEST = 4;

/** What a reader of the page gave: a bench folder by its paths, or one table. */
export interface Given {
  readonly kind: 'folder' | 'table';
  readonly files: [string, Uint8Array][];
}

const bytesOf = async (file: File): Promise<Uint8Array> => new Uint8Array(await file.arrayBuffer());

/** Files of a bench by their path below the folder that was picked; others are left alone. */
export async function pickedFolder(picked: FileList): Promise<Given> {
  const files: [string, Uint8Array][] = [];
  for (const file of picked) {
    const path = file.webkitRelativePath.split('/').slice(1).join('/') || file.name;
    if (MAY_BE_READ.test(path)) files.push([path, await bytesOf(file)]);
  }
  return { kind: 'folder', files };
}

export async function pickedTable(file: File): Promise<Given> {
  return { kind: 'table', files: [[file.name, await bytesOf(file)]] };
}

export function pastedTable(text: string): Given {
  return { kind: 'table', files: [['pasted table', new TextEncoder().encode(text)]] };
}

/** What was dropped: a folder, its files one by one, or a table. */
export async function dropped({ items, files: loose }: DataTransfer): Promise<Given | undefined> {
  // Entries are to be had only before the first wait.
  const entries = [...items].flatMap((item) => item.webkitGetAsEntry() ?? []);
  const list = [...loose];
  const folder = entries.find((entry) => entry.isDirectory);
  if (folder) {
    const files: [string, Uint8Array][] = [];
    await visit(folder as FileSystemDirectoryEntry, '', files, 0);
    return { kind: 'folder', files };
  }
  if (list.length === 0) return undefined;
  if (list.length === 1 && !/^bench\.ya?ml$/i.test(list[0].name)) return pickedTable(list[0]);
  const kept = list.filter((file) => MAY_BE_READ.test(file.name));
  return {
    kind: 'folder',
    files: await Promise.all(
      kept.map(async (file): Promise<[string, Uint8Array]> => [file.name, await bytesOf(file)]),
    ),
  };
}

async function visit(
  folder: FileSystemDirectoryEntry,
  below: string,
  files: [string, Uint8Array][],
  depth: number,
): Promise<void> {
  const reader = folder.createReader();
  for (;;) {
    // A reader gives a hundred entries at a time.
    const some = await new Promise<FileSystemEntry[]>((done, fail) => reader.readEntries(done, fail));
    if (some.length === 0) return;
    for (const entry of some) {
      const path = `${below}${entry.name}`;
      if (entry.isDirectory && depth < DEEPEST)
        await visit(entry as FileSystemDirectoryEntry, `${path}/`, files, depth + 1);
      else if (entry.isFile && MAY_BE_READ.test(path)) {
        const file = await new Promise<File>((done, fail) => (entry as FileSystemFileEntry).file(done, fail));
        files.push([path, await bytesOf(file)]);
      }
    }
  }
}
