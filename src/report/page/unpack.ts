/** The text of a block that holds it gzipped and in base64. */
export async function unpacked(block: HTMLElement): Promise<string> {
  const packed = atob((block.textContent ?? '').trim());
  const bytes = new Uint8Array(packed.length);
  for (let i = 0; i < packed.length; i++) bytes[i] = packed.charCodeAt(i);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Response(stream).text();
}
