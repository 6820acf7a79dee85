"""Changes the recognizer's worker so that it evaluates no text, as the content policy demands.

The script (Apache-2.0) makes two kinds of functions from text. Each is replaced by a function that
does the same, and says so in a comment.
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


def without_evaluation(script: bytes) -> bytes:
    """The script with its two functions that were made from text replaced.

    Raises PhoneError if they are not there: then it is another version.
    """
    text = script.decode("utf-8")
    for old, new in ((_INVOKER, _INVOKER_PLAIN), (_CALLER, _CALLER_PLAIN)):
        if text.count(old) != 1:
            raise PhoneError("the recognizer's script is not the version that is known", file=NAME)
        text = text.replace(old, new)
    return text.encode("utf-8")
