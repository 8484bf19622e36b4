import manifest from '../../package.json' with { type: 'json' };

/** The version of this package. */
export const version: string = manifest.version;

/** The oldest Node.js that it runs on, as 20.19. */
export const leastNode: string = manifest.engines.node.replace(/[^\d.]/g, '');
