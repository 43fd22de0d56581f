//! Which terminals are one, and what stands on ground: the plan's metal, without a solution of its network.
//!
//! Rebuilt from devices and rows only. Terminals are joined for good by rows and by bonds inside devices; contacts, loads,
//! coils and windings join nothing here. A row that names an unknown device or terminal joins nothing: the network's own
//! rebuilding reports it.
//!
//! What it deliberately does not do: volts, contacts that follow coils. Rules and lockout that need "who can reach whom" over
//! contacts walk over the parts themselves.

use crate::{
    device::{Device, Terminal},
    part::{Part, T},
    plan::Plan,
    row::Landing,
};

/// A terminal of the plan: its place among all terminals.
pub type Node = usize;

/// The plan's metal.
pub struct Trace<'a> {
    devices: &'a [Device],
    first: Vec<Node>,
    owner: Vec<usize>,
    group: Vec<usize>,
    members: Vec<Vec<Node>>,
    grounded: Vec<bool>,
    by_tag: std::collections::HashMap<&'a str, usize>,
}

impl<'a> Trace<'a> {
    /// Joins terminals by rows and bonds.
    pub fn of(plan: &'a Plan) -> Self {
        let devices = plan.devices.as_slice();
        let mut first = Vec::with_capacity(devices.len());
        let mut owner = Vec::new();
        for (d, device) in devices.iter().enumerate() {
            first.push(owner.len());
            owner.extend(std::iter::repeat_n(d, device.terminals.len()));
        }
        let by_tag = devices.iter().enumerate().map(|(i, d)| (d.tag.as_str(), i)).collect();
        let count = owner.len();
        let mut t = Self {
            devices,
            first,
            owner,
            group: (0..count).collect(),
            members: Vec::new(),
            grounded: Vec::new(),
            by_tag,
        };
        for row in &plan.rows {
            if let (Some(a), Some(b)) = (t.landing(&row.from), t.landing(&row.to)) {
                t.join(a, b);
            }
        }
        for (d, device) in devices.iter().enumerate() {
            for part in &device.parts {
                if let Part::Bond(a, b) = part
                    && let (Some(a), Some(b)) = (t.node(d, *a), t.node(d, *b))
                {
                    t.join(a, b);
                }
            }
        }
        t.close()
    }

    fn join(&mut self, a: Node, b: Node) {
        let (a, b) = (self.root(a), self.root(b));
        let (low, high) = (a.min(b), a.max(b));
        self.group[high] = low;
    }

    fn root(&self, mut n: Node) -> Node {
        while self.group[n] != n {
            n = self.group[n];
        }
        n
    }

    fn close(mut self) -> Self {
        let roots: Vec<usize> = (0..self.group.len()).map(|n| self.root(n)).collect();
        self.group = roots;
        self.members = vec![Vec::new(); self.group.len()];
        for (n, g) in self.group.iter().enumerate() {
            self.members[*g].push(n);
        }
        self.grounded = vec![false; self.group.len()];
        for (d, device) in self.devices.iter().enumerate() {
            for part in &device.parts {
                if let Part::Earth(t) = part
                    && let Some(n) = self.node(d, *t)
                {
                    let g = self.group[n];
                    self.grounded[g] = true;
                }
            }
        }
        self
    }

    /// The node of a device's terminal; `None` for a terminal that the device does not have.
    pub fn node(&self, device: usize, t: T) -> Option<Node> {
        let n = usize::from(t.0);
        (n < self.devices.get(device)?.terminals.len()).then(|| self.first[device] + n)
    }

    /// The node a row lands on.
    pub fn landing(&self, at: &Landing) -> Option<Node> {
        let d = self.device(&at.device)?;
        self.node(d, self.devices[d].find(&at.terminal)?)
    }

    /// The place of the device with this tag.
    pub fn device(&self, tag: &str) -> Option<usize> {
        self.by_tag.get(tag).copied()
    }

    /// All devices.
    pub fn devices(&self) -> &'a [Device] {
        self.devices
    }

    /// The device that a node belongs to.
    pub fn owner(&self, n: Node) -> usize {
        self.owner[n]
    }

    /// The terminal behind a node.
    pub fn terminal(&self, n: Node) -> &'a Terminal {
        let d = self.owner[n];
        &self.devices[d].terminals[n - self.first[d]]
    }

    /// Tag and mark of a node, as "K1:A1".
    pub fn name(&self, n: Node) -> String {
        format!("{}:{}", self.devices[self.owner[n]].tag, self.terminal(n).mark)
    }

    /// The group of a node: equal for terminals that are one.
    pub fn group(&self, n: Node) -> usize {
        self.group[n]
    }

    /// The group of a device's terminal.
    pub fn group_of(&self, device: usize, t: T) -> Option<usize> {
        self.node(device, t).map(|n| self.group[n])
    }

    /// The terminals of a group.
    pub fn members(&self, group: usize) -> &[Node] {
        &self.members[group]
    }

    /// True when the group is joined to ground.
    pub fn is_grounded(&self, group: usize) -> bool {
        self.grounded[group]
    }

    /// All parts with the device that holds them.
    pub fn parts(&self) -> impl Iterator<Item = (usize, &'a Part)> + '_ {
        self.devices.iter().enumerate().flat_map(|(d, device)| device.parts.iter().map(move |p| (d, p)))
    }
}
