//! What this program takes of the machine.

use std::fs;

/// The most memory that this program has had in use at one time, MB (10⁶ bytes): what was resident, its own code and
/// the libraries' included. `None` where the system has no `/proc/self/status`.
pub(crate) fn peak_mb() -> Option<f64> {
    peak_in(&fs::read_to_string("/proc/self/status").ok()?)
}

/// The line reads `VmHWM:     12345 kB`, where kB are 1024 bytes (proc_pid_status(5)).
fn peak_in(status: &str) -> Option<f64> {
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kibibytes: f64 = peak.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kibibytes * 1024.0 / 1e6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_peak_is_read_in_megabytes() {
        let status = "Name:\tsolewright\nVmPeak:\t  999999 kB\nVmHWM:\t   62500 kB\nVmRSS:\t   40000 kB\n";
        assert_eq!(peak_in(status), Some(64.0));
        assert_eq!(peak_in("Name:\tsolewright\n"), None);
        assert_eq!(peak_in("VmHWM:\t much\n"), None);
    }
}
