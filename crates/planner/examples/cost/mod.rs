//! What a run costs, as Linux counts it: time on a core, memory at its peak. Elsewhere both read as 0.

/// Milliseconds that this thread has been on a core.
#[allow(dead_code, reason = "not every example asks")]
pub fn cpu_milliseconds() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds: f64 = text.split(' ').next().and_then(|word| word.parse().ok()).unwrap_or(0.0);
    nanoseconds / 1e6
}

/// Most memory that this process has held, in MiB.
#[allow(dead_code, reason = "not every example asks")]
pub fn peak_mib() -> f64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or_default();
    line.split_whitespace().next().and_then(|word| word.parse::<f64>().ok()).unwrap_or(0.0) / 1024.0
}
