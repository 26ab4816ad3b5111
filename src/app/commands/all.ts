import { checkConfig } from './check-config.js';
import { type AddCommands, examples } from './program.js';

export const CONFIG_OPTION = ['-c, --config <file>', 'the site file'] as const;

const addCheckConfig: AddCommands = (program, io, run) => {
  program
    .command('check-config')
    .description('Check the site file and the catalogue: every mistake at once, with line and mend.')
    .option(...CONFIG_OPTION)
    .addHelpText('after', examples('leafturn check-config', 'leafturn check-config --config /etc/leafturn/site.yaml'))
    .action((options: { config?: string }) => run(checkConfig(options, io)));
};

export const ALL_COMMANDS: readonly AddCommands[] = [addCheckConfig];
