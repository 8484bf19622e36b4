/** Where the worked example of a command's page is not the one of its own help; all run on the demo bench. */
export const examples = {
  init: { line: 'heatladder init demo-bench' },
  watch: { line: 'heatladder watch demo-bench --log siskin-a-165.csv --every 300 --no-follow' },
  rehearse: {
    before: ['heatladder plan demo-bench --target 230 --hours 4 -o plan.csv'],
    line: 'heatladder rehearse demo-bench --runs plan.csv --repeats 50',
  },
};
