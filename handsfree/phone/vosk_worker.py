"""Patches the recognizer's worker (Apache-2.0) for the app; a comment marks each change.

The patched worker evaluates no text, as the content policy demands: two kinds of generated
functions are replaced by equivalent ones. It takes a whole utterance in one message, and answers
with its alternatives and their costs, as the desktop's binding does. It opens the graphs of
narrow grammars next to the model's own, with the same acoustic model. It deletes the models of
earlier versions of the app.
"""

from __future__ import annotations

from handsfree.errors import PhoneError

NAME = "vosk/vosk.worker.js"
_INVOKER = "var invokerFn = newFunc(Function, args)(...closureArgs);"
_INVOKER_PLAIN = """/* changed by handsfree: no text is evaluated */
      var invokerFn = function(...given) {
        var first = isClassMethodFunc ? 1 : 2;
        var destructors = needsDestructorStack ? [] : null;
        var wired = [];
        for (var i = first; i < argTypes.length; ++i) {
          wired.push(argTypes[i]["toWireType"](destructors, i === 1 ? this : given[i - 2]));
        }
        var rv = cppInvokerFunc(cppTargetFunc, ...wired);
        if (needsDestructorStack) runDestructors(destructors);
        else for (var i = first; i < argTypes.length; ++i) {
          var end = argTypes[i].destructorFunction;
          if (end !== null) end(wired[i - first]);
        }
        if (returns) return argTypes[0]["fromWireType"](rv);
      };"""
_CALLER = "var invokerFunction = newFunc(Function, params)(...args);"
_CALLER_PLAIN = """/* changed by handsfree: no text is evaluated */
      var invokerFunction = function(obj, func, destructorsRef, args) {
        var values = kind === 0 ? [obj] : [];
        var offset = 0;
        for (var i = 0; i < argCount; ++i) {
          values.push(types[i].readValueFromPointer(args + offset));
          offset += types[i].argPackAdvance;
        }
        var rv = kind === 1 ? new func(...values) : func.call(...values);
        if (!retType.isVoid) return emval_returnValue(retType, destructorsRef, rv);
      };"""


_UNKNOWN = 'ctx.postMessage({ event: "error", error: `Unknown message'
_UTTERANCE = """/* added by handsfree: an utterance in one message */
    if (message.action === "utterance") {
      try {
        ctx.postMessage({ event: "utterance", result: this.hear(message) });
      } catch (error) {
        ctx.postMessage({ event: "error", error: String(error) });
      }
      return;
    }
    """
_LOAD = "  async load(modelUrl, wasmUrl) {"
_HEAR = """  /* added by handsfree */
  hear({ data, sampleRate, graph, most }) {
    const recognizer = new this.module.Recognizer(this.modelOf(graph), sampleRate);
    const address = this.module._malloc(data.byteLength);
    try {
      recognizer.SetWords(true);
      // SetMaxAlternatives is not among the bindings: its number lies before the rate in memory.
      const at = recognizer.$$.ptr / 4;
      const numbers = new Int32Array(this.module.HEAPF32.buffer);
      const known = numbers[at + 14] === 0 && this.module.HEAPF32[at + 16] === sampleRate;
      if (!known) throw new Error("the recognizer is not the version that is known");
      numbers[at + 14] = most;
      this.module.HEAPF32.set(data, address / 4);
      recognizer.AcceptWaveform(address, data.length);
      return recognizer.FinalResult();
    } finally {
      this.module._free(address);
      recognizer.delete();
    }
  }
  /* added by handsfree: a narrow grammar's graph with the same acoustic model */
  modelOf(graph) {
    if (graph === undefined) return this.model;
    this.narrow ??= new Map();
    const open = this.narrow.get(graph) ?? this.openNarrow(graph);
    this.narrow.delete(graph);
    this.narrow.set(graph, open); // the last in use is the last
    for (const [name, model] of this.narrow) {
      if (this.narrow.size <= 2) break; // each takes 31 MB
      this.narrow.delete(name);
      model.delete();
    }
    return open;
  }
  openNarrow(graph) {
    const { FS } = this.module;
    const [from, into] = [`${this.modelPath}/narrow/${graph}`, `/narrow/${graph}`];
    if (!FS.analyzePath(into).exists) {
      FS.mkdirTree(`${into}/conf`);
      FS.symlink(`${this.modelPath}/am`, `${into}/am`);
      FS.symlink(`${from}/graph`, `${into}/graph`);
      for (const name of FS.readdir(`${this.modelPath}/conf`)) {
        if (/^[.][.]?$/.test(name)) continue;
        const text = FS.readFile(`${this.modelPath}/conf/${name}`, { encoding: "utf8" });
        const own = name === "model.conf" && FS.analyzePath(`${from}/lattice-beam`).exists
          ? FS.readFile(`${from}/lattice-beam`, { encoding: "utf8" }) : null;
        const beam = own === null ? text
          : `${text.replace(/--lattice-beam=.*\\n/, "")}--lattice-beam=${own}\\n`;
        FS.writeFile(`${into}/conf/${name}`, beam);
      }
    }
    return new this.module.Model(into);
  }
"""
_SYNC = "this.logger.verbose(`Syncing filesystem`);"
_OTHERS_GO = """/* changed by handsfree: the models of earlier versions go */
      this.modelPath = modelPath;
      const { FS } = this.module;
      const remove = (path) => {
        if (!FS.isDir(FS.stat(path).mode)) return FS.unlink(path);
        for (const name of FS.readdir(path)) if (!/^[.][.]?$/.test(name)) remove(`${path}/${name}`);
        return FS.rmdir(path);
      };
      for (const name of FS.readdir(storagePath)) {
        const path = `${storagePath}/${name}`;
        if (!/^[.][.]?$/.test(name) && path !== modelPath) remove(path);
      }"""
_CHANGES = {
    _INVOKER: _INVOKER_PLAIN,
    _CALLER: _CALLER_PLAIN,
    _UNKNOWN: _UTTERANCE + _UNKNOWN,
    _LOAD: _HEAR + _LOAD,
    _SYNC: _OTHERS_GO,
}


def adapted(script: bytes) -> bytes:
    """Applies these changes to the script.

    Raises PhoneError if the replaced code is missing, because the version is another one.
    """
    text = script.decode("utf-8")
    for old, new in _CHANGES.items():
        if text.count(old) != 1:
            raise PhoneError("the recognizer's script is not the known version", file=NAME)
        text = text.replace(old, new)
    return text.encode("utf-8")
