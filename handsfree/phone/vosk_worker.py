"""Patches the recognizer's worker (Apache-2.0) for the app; a comment marks each change.

The patched worker evaluates no text, as the content policy demands: two kinds of generated
functions are replaced by equivalent ones. It opens the graph of the clock's words next to the
model's own, with the same acoustic model. It deletes the models of earlier versions of the app.
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


_GRAMMAR = "recognizer = new this.module.Recognizer(this.model, sampleRate, grammar);"
_CLOCK = """/* changed by handsfree: the graph of the clock's words */
        if (!this.clock) {
          const { FS } = this.module;
          FS.mkdir("/clock");
          for (const part of ["am", "conf", "clock/graph"]) {
            FS.symlink(`${this.modelPath}/${part}`, `/clock/${part.split("/").at(-1)}`);
          }
          this.clock = new this.module.Model("/clock");
        }
        recognizer = new this.module.Recognizer(this.clock, sampleRate);"""
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
_CHANGES = {_INVOKER: _INVOKER_PLAIN, _CALLER: _CALLER_PLAIN, _GRAMMAR: _CLOCK, _SYNC: _OTHERS_GO}


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
