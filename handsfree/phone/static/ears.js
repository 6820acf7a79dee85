export class Ears { on = false; async start() {} async stop() {} }
