/** The file of the bench folder that keeps what was decided about published charts. */
export const DECISIONS_FILE = 'decisions.yaml';
