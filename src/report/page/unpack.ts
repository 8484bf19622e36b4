import { byId } from './dom.ts';

/** The text of a block that holds it gzipped and in base64; the large blocks stand after the script that asks for them. */
export async function unpacked(id: string): Promise<string> {
  if (document.readyState === 'loading') {
    await new Promise((resolve) => addEventListener('DOMContentLoaded', resolve, { once: true }));
  }
  const block = byId(id);
  const packed = atob((block.textContent ?? '').trim());
  const bytes = new Uint8Array(packed.length);
  for (let i = 0; i < packed.length; i++) bytes[i] = packed.charCodeAt(i);
  block.remove();
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Response(stream).text();
}
