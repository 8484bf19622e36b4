import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Extractor, ExtractorConfig, ExtractorLogLevel } from '@microsoft/api-extractor';

/**
 * The declarations of src/index.ts in one file: what it exports and the types that this names, nothing else.
 *
 * The compiler writes a declaration for every module into a temporary folder, and the extractor takes from there what is
 * reached. No library of a browser is known to it, so that a declaration that needs one is refused.
 *
 * @param {string} root  folder of the repository
 * @returns {{ text: string, leaks: string[] }} the file, and what is wrong with it in sentences: names that a public signature needs
 *   and that are not exported, links that lead nowhere
 * @throws Error where either tool cannot make sense of a declaration
 */
export function rolledUpDeclarations(root) {
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-types-'));
  try {
    emitDeclarations(root, folder);
    const manifest = join(folder, 'package.json');
    const { name, version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
    writeFileSync(manifest, JSON.stringify({ name, version }));
    return extract(folder, manifest);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function emitDeclarations(root, folder) {
  const { status } = spawnSync(
    process.execPath,
    [
      join(root, 'node_modules/typescript/bin/tsc'),
      ...['--noEmit', 'false', '--declaration', '--emitDeclarationOnly', '--noCheck'],
      ...['--project', join(root, 'src/build/tsconfig.types.json'), '--outDir', folder],
    ],
    { cwd: root, stdio: 'inherit' },
  );
  if (status !== 0) throw new Error('tsc could not write the declarations');
}

function extract(folder, manifest) {
  const entry = join(folder, 'index.d.ts');
  const rolledUp = join(folder, 'rolled-up.d.ts');
  const compilerOptions = {
    allowImportingTsExtensions: true,
    lib: ['ES2023'],
    module: 'ESNext',
    moduleResolution: 'Bundler',
    noEmit: true,
    strict: true,
    target: 'ES2023',
    types: [],
  };
  const config = ExtractorConfig.prepare({
    configObject: {
      projectFolder: folder,
      mainEntryPointFilePath: entry,
      compiler: { overrideTsconfig: { compilerOptions, files: [entry] } },
      apiReport: { enabled: false },
      docModel: { enabled: false },
      tsdocMetadata: { enabled: false },
      dtsRollup: { enabled: true, untrimmedFilePath: rolledUp },
      newlineKind: 'lf',
    },
    configObjectFullPath: undefined,
    packageJsonFullPath: manifest,
  });
  const faults = [];
  const leaks = [];
  try {
    Extractor.invoke(config, {
      messageCallback: (message) => {
        const { messageId, text, sourceFilePath } = message;
        if (messageId === 'ae-forgotten-export' || messageId === 'ae-unresolved-link') leaks.push(text);
        else if (message.category === 'Compiler' || message.logLevel === ExtractorLogLevel.Error)
          faults.push(`${sourceFilePath ? `${sourceFilePath.slice(folder.length + 1)}: ` : ''}${text}`);
        // Release tags and the dialect of doc comments are no business of ours.
        message.logLevel = ExtractorLogLevel.None;
        message.handled = true;
      },
    });
  } catch (error) {
    // It ends so at a name that neither the language nor the source has; what follows its first line is for its own makers.
    faults.push(error.message.split('\n')[0]);
  }
  if (faults.length > 0) throw new Error(`the declarations are not whole: ${faults.join('; ')}`);
  return { text: readFileSync(rolledUp, 'utf8'), leaks };
}
