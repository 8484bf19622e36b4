import { type ChildProcess, spawn } from 'node:child_process';
import { createHmac, randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import type { Output } from './notebook.ts';

/**
 * The kernel that runs TypeScript cells, driven over its sockets without Jupyter.
 *
 * Messages follow the Jupyter messaging protocol 5.3: frames of identities, a delimiter, an HMAC-SHA256 signature, then header,
 * parent header, metadata and content, each as JSON.
 */
export interface Kernel {
  /** Runs a cell and returns what it put out, in order. */
  execute(code: string): Promise<Output[]>;
  stop(): Promise<void>;
}

/** The kernel and its sockets are fetched by `npm run kernel`, apart from what the other tests need. */
const fetched = createRequire(new URL('../../notebooks/package.json', import.meta.url));

/** What is used of zeromq's sockets. */
interface Socket {
  connect(address: string): void;
  subscribe(): void;
  send(frames: unknown[]): Promise<void>;
  receive(): Promise<Buffer[]>;
  close(): void;
}
type SocketClass = new (options: { linger: number }) => Socket;

const DELIMITER = '<IDS|MSG>';

/** The kernel's binary, from the npm package for this platform. */
export function denoBinary(): string {
  const { platform, arch } = process;
  const name = `@deno/${platform}-${arch}${platform === 'linux' ? '-glibc' : ''}`;
  const folder = dirname(fetched.resolve(`${name}/package.json`));
  return join(folder, platform === 'win32' ? 'deno.exe' : 'deno');
}

/** Ports that were free a moment ago, all held until each is known so that no two are the same. */
async function freePorts(count: number): Promise<number[]> {
  const servers = Array.from({ length: count }, () => createServer());
  const ports = await Promise.all(
    servers.map(
      (server) =>
        new Promise<number>((resolve, reject) => {
          server.once('error', reject).listen(0, '127.0.0.1', () => {
            const address = server.address();
            if (address === null || typeof address === 'string') reject(new Error('no port'));
            else resolve(address.port);
          });
        }),
    ),
  );
  await Promise.all(servers.map((server) => new Promise((resolve) => server.close(resolve))));
  return ports;
}

interface Message {
  type: string;
  parent: string | undefined;
  content: Record<string, unknown>;
}

function readMessage(frames: readonly Buffer[]): Message {
  const at = frames.findIndex((frame) => frame.toString() === DELIMITER);
  const json = (offset: number): Record<string, unknown> => JSON.parse(frames[at + offset].toString());
  return {
    type: String(json(2).msg_type),
    parent: json(3).msg_id as string | undefined,
    content: json(5),
  };
}

/**
 * Starts a kernel.
 *
 * @param cwd  folder that relative imports and `deno.json` are looked for in
 * @throws Error when it does not answer within `patience_s`
 */
export async function startKernel(cwd: string, patience_s = 60): Promise<Kernel> {
  const [shell_port, iopub_port, stdin_port, control_port, hb_port] = await freePorts(5);
  const key = randomUUID();
  const session = randomUUID();
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-kernel-'));
  const connection = join(folder, 'connection.json');
  writeFileSync(
    connection,
    JSON.stringify({
      ip: '127.0.0.1',
      transport: 'tcp',
      signature_scheme: 'hmac-sha256',
      key,
      shell_port,
      iopub_port,
      stdin_port,
      control_port,
      hb_port,
    }),
  );
  const child: ChildProcess = spawn(denoBinary(), ['jupyter', '--kernel', '--conn', connection], {
    cwd,
    env: {
      ...process.env,
      DENO_DIR: join(folder, 'deno'),
      DENO_NO_PACKAGE_JSON: '1',
      DENO_NO_UPDATE_CHECK: '1',
      NO_COLOR: '1',
      TZ: 'UTC',
    },
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let complaint = '';
  child.stderr?.setEncoding('utf8').on('data', (part: string) => {
    complaint += part;
  });
  const ended = new Promise<never>((_, reject) => {
    child.once('error', reject);
    child.once('exit', (code) => reject(new Error(`the kernel ended with ${code}\n${complaint}`)));
  });
  ended.catch(() => {});

  const { Dealer, Subscriber } = fetched('zeromq') as Record<'Dealer' | 'Subscriber', SocketClass>;
  const shell = new Dealer({ linger: 0 });
  const iopub = new Subscriber({ linger: 0 });
  shell.connect(`tcp://127.0.0.1:${shell_port}`);
  iopub.connect(`tcp://127.0.0.1:${iopub_port}`);
  iopub.subscribe();

  const send = async (type: string, content: object): Promise<string> => {
    const id = randomUUID();
    const date = new Date().toISOString();
    const header = { msg_id: id, session, username: 'test', date, msg_type: type, version: '5.3' };
    const parts = [header, {}, {}, content].map((part) => JSON.stringify(part));
    const signature = createHmac('sha256', key).update(parts.join('')).digest('hex');
    await shell.send([DELIMITER, signature, ...parts]);
    return id;
  };
  const within = async <T>(work: Promise<T>, what: string): Promise<T> => {
    let timer: NodeJS.Timeout | undefined;
    const late = new Promise<never>((_, reject) => {
      timer = setTimeout(() => reject(new Error(`${what} took over ${patience_s} s`)), patience_s * 1000);
    });
    try {
      return await Promise.race([work, late, ended]);
    } finally {
      clearTimeout(timer);
    }
  };
  const nextOf = async (socket: Socket): Promise<Message> => readMessage(await socket.receive());

  const stop = async (): Promise<void> => {
    const gone = new Promise((resolve) => child.once('exit', resolve));
    if (child.exitCode === null && child.signalCode === null && child.kill('SIGKILL')) await gone;
    shell.close();
    iopub.close();
    rmSync(folder, { recursive: true, force: true });
  };

  try {
    // A subscription takes effect some time after it is asked for: ask until an echo comes back on it.
    await within(
      (async () => {
        const heard = nextOf(iopub);
        for (let subscribed = false; !subscribed; ) {
          await send('kernel_info_request', {});
          await nextOf(shell);
          const pause = new Promise<false>((resolve) => setTimeout(() => resolve(false), 100));
          subscribed = await Promise.race([heard.then(() => true), pause]);
        }
      })(),
      'starting the kernel',
    );
  } catch (error) {
    await stop();
    throw error;
  }

  const ask = (code: string, silent: boolean): Promise<string> =>
    send('execute_request', {
      code,
      silent,
      store_history: !silent,
      user_expressions: {},
      allow_stdin: false,
      stop_on_error: true,
    });
  /** Reads on until the kernel is idle after `id` and has answered it, giving `keep` what is said on the way. */
  const followed = async (id: string, keep: (message: Message) => void): Promise<void> => {
    for (;;) {
      const message = await nextOf(iopub);
      if (message.parent === id && message.type === 'status' && message.content.execution_state === 'idle')
        break;
      keep(message);
    }
    while ((await nextOf(shell)).parent !== id);
  };

  const execute = (code: string): Promise<Output[]> =>
    within(
      (async () => {
        const outputs: Output[] = [];
        const asked = new Set<string | undefined>();
        const keep = ({ type, parent, content }: Message) => {
          if (asked.has(parent)) collect(outputs, type, content);
        };
        const id = await ask(code, false);
        asked.add(id);
        await followed(id, keep);
        // This kernel may send a result, and the end of what a cell printed, after it called itself idle, and then in the name of
        // the next cell; but what is printed comes in order. So the next cell prints a mark, and all before the mark is the cell's.
        const mark = `end of cell ${randomUUID()}\n`;
        const next = await ask(`console.log(${JSON.stringify(mark.trimEnd())})`, true);
        asked.add(next);
        await followed(next, keep);
        while (!withoutMark(outputs, mark)) keep(await nextOf(iopub));
        return outputs;
      })(),
      'a cell',
    );

  return { execute, stop };
}

/** Takes the mark off the outputs; false where it is not yet there. */
function withoutMark(outputs: Output[], mark: string): boolean {
  const at = outputs.findIndex((output) => output.output_type === 'stream' && output.text.endsWith(mark));
  if (at < 0) return false;
  const output = outputs[at] as Extract<Output, { output_type: 'stream' }>;
  output.text = output.text.slice(0, -mark.length);
  if (output.text === '') outputs.splice(at, 1);
  return true;
}

/** Adds a message to a cell's outputs as a notebook keeps them. */
function collect(outputs: Output[], type: string, content: Record<string, unknown>): void {
  if (type === 'stream') {
    const { name, text } = content as { name: string; text: string };
    const last = outputs.at(-1);
    if (last?.output_type === 'stream' && last.name === name) last.text += text;
    else outputs.push({ output_type: 'stream', name, text });
  } else if (type === 'execute_result') {
    const { data, metadata, execution_count } = content as {
      data: Record<string, unknown>;
      metadata: object;
      execution_count: number;
    };
    outputs.push({ output_type: 'execute_result', data, metadata, execution_count });
  } else if (type === 'display_data') {
    const { data, metadata } = content as { data: Record<string, unknown>; metadata: object };
    outputs.push({ output_type: 'display_data', data, metadata });
  } else if (type === 'error') {
    const { ename, evalue, traceback } = content as { ename: string; evalue: string; traceback: string[] };
    outputs.push({ output_type: 'error', ename, evalue, traceback });
  }
}
