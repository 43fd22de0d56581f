//! A job compiled, read back from its rows and devices, and proved.
#![allow(dead_code, reason = "each test file uses its own part")]

use heatwright_wiring::{
    job::Job,
    net::Network,
    plan::{Plan, plan},
    proof::{Expectation, Limits, MutantKind, limit_pairs, mutate_all, observe, prove},
};

pub(crate) fn compiled(job: &Job) -> Plan {
    match plan(job) {
        Ok(p) => p,
        Err(faults) => panic!("{faults:?}"),
    }
}

/// Rebuilt from rows and devices.
pub(crate) fn rebuilt(p: &Plan) -> Network {
    Network::rebuild(&p.devices, &p.rows).unwrap_or_else(|e| panic!("{e:?}"))
}

/// Compiles, rebuilds, proves: no fault, and no burner with power while its limit pair is open.
pub(crate) fn proved(job: &Job) -> Plan {
    let p = compiled(job);
    let net = rebuilt(&p);
    let expectation = Expectation::new(job);
    let proof = prove(&net, &expectation, Limits::default());
    let all = observe::actuators(&net);
    let told: Vec<String> = proof.faults.iter().map(|f| observe::fault(&net, f, &all)).collect();
    assert!(told.is_empty(), "{} faults:\n{}", told.len(), told.join("\n"));
    let (burns, _) = limit_pairs(&net, &expectation, job.boilers.len() as u8, Limits::default());
    assert_eq!(burns, [], "a burner has power with its limit pair open");
    p
}

/// Every fault that can be planted in the plan is seen or harmless.
pub(crate) fn every_planted_fault_is_seen(p: &Plan) {
    let net = rebuilt(p);
    let mut left = Vec::new();
    for (kind, s) in mutate_all(&net, &MutantKind::ALL, Limits::default()) {
        assert_eq!(s.total, s.caught + s.harmless.len() + s.nowhere.len() + s.survivors.len(), "{kind:?}");
        left.extend(s.survivors.iter().map(|(m, _)| m).chain(&s.nowhere).map(|m| observe::mutant(&net, *m)));
    }
    assert!(left.is_empty(), "{left:#?}");
}
