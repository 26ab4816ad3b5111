#!/usr/bin/env node
import { ALL_COMMANDS } from './app/commands/all.js';
import { processIo } from './app/commands/io.js';
import { runProgram } from './app/commands/program.js';

// The code is set, not exited with, so that piped output is written to its end.
process.exitCode = await runProgram(process.argv.slice(2), processIo(), ALL_COMMANDS);
