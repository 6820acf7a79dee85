// A worker that puts a log into a visit on this phone: only workers write at once and flush.

import { listVisits, putLog } from "./store.js";

onmessage = async ({ data }) => {
  try {
    if (data.act === "list") {
      const visits = await listVisits();
      postMessage({ visits: visits.filter((visit) => !visit.unreadable && !visit.closed) });
    } else {
      await putLog(data.visit, data.name, data.text);
      postMessage({});
    }
  } catch (fault) {
    postMessage({ visits: [], fault: String(fault.message ?? fault) });
  }
};
