const ENTITIES: Record<string, string> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text as HTML, safe between tags and inside a quoted attribute. @example escapeHtml('A & <b>') // 'A &amp; &lt;b&gt;' */
export function escapeHtml(text: string): string {
  return text.replace(/[&<>"']/g, (c) => ENTITIES[c]);
}

/** A value as JSON that cannot end the script element it stands in. */
export function jsonBlock(value: unknown): string {
  return JSON.stringify(value)
    .replace(/</g, '\\u003c')
    .replace(/\u2028/g, '\\u2028')
    .replace(/\u2029/g, '\\u2029');
}

/** A sentence as HTML in which neither a number is parted from its unit at the end of a line nor a short name at its hyphen. */
export function prose(text: string): string {
  return escapeHtml(unparted(text)).replace(
    /(?<![\p{L}\p{N}-])[\p{L}\p{N}]{1,14}-[\p{L}\p{N}]{1,8}(?![\p{L}\p{N}-])/gu,
    '<span class="whole">$&</span>',
  );
}

/** The same as plain text. @example unparted('95 % at 120 W') // with a no-break space before % and W */
export function unparted(text: string): string {
  return text.replace(/(\d) (?=(?:%|W|K|°C|dBA|rpm|s|min|h)(?![\p{L}\p{N}]))/gu, '$1\u00a0');
}
