//! What can be wrong with the water side: facts with their units, a code that never changes its meaning, a sentence in SI.

/// What the water side's study can find.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, thiserror::Error)]
#[serde(untagged)]
pub enum WaterIssue {
    /// The plant is filled too low for its height.
    #[error("filled to {fill_kpa:.0} kPa; {needed_kpa:.0} kPa are needed to keep air out of the highest point")]
    FillLow {
        /// Fill pressure in force, in kilopascals.
        fill_kpa: f64,
        /// What is needed, in kilopascals.
        needed_kpa: f64,
    },
    /// Nothing is left between fill pressure and relief valve.
    #[error(
        "the fill pressure of {fill_kpa:.0} kPa leaves nothing below the {max_kpa:.0} kPa that a relief valve of {relief_kpa:.0} \
         kPa allows: no expansion tank is large enough"
    )]
    NoRoom {
        /// Fill pressure, in kilopascals.
        fill_kpa: f64,
        /// What the height needs, in kilopascals.
        needed_kpa: f64,
        /// Largest pressure allowed at the tank, in kilopascals.
        max_kpa: f64,
        /// Setting of the lowest relief valve, in kilopascals.
        relief_kpa: f64,
    },
    /// The hottest water boils at the highest point.
    #[error(
        "water of {hottest_c:.0} °C boils below {boils_kpa:.0} kPa absolute; the highest point has {top_kpa:.0} kPa while cold"
    )]
    Boils {
        /// The hottest water, in degrees Celsius.
        hottest_c: f64,
        /// Its saturation pressure, in kilopascals, absolute.
        boils_kpa: f64,
        /// Pressure at the highest point, in kilopascals, absolute.
        top_kpa: f64,
    },
    /// The expansion tank that is there is too small.
    #[error("the expansion tank holds {tank_l:.0} l; {needed_l:.0} l are needed")]
    TankSmall {
        /// The tank, in litres.
        tank_l: f64,
        /// What is needed, in litres.
        needed_l: f64,
        /// Pressure at the hottest, in kilopascals, gauge; `None` where the tank is filled to its last litre.
        hot_kpa: Option<f64>,
        /// Setting of the lowest relief valve, in kilopascals.
        relief_kpa: f64,
    },
    /// Nothing says which expansion tank is there.
    #[error("no expansion tank is given; a diaphragm tank of {needed_l:.0} l at least is needed")]
    TankUnsaid {
        /// What is needed, in litres.
        needed_l: f64,
    },
    /// The tank's air charge is not the fill pressure.
    #[error("the expansion tank is charged to {precharge_kpa:.0} kPa and the plant filled to {fill_kpa:.0} kPa")]
    PrechargeOff {
        /// Air charge, in kilopascals.
        precharge_kpa: f64,
        /// Fill pressure, in kilopascals.
        fill_kpa: f64,
    },
    /// The diaphragm of the expansion tank lets in less than expands.
    #[error("the expansion tank's diaphragm lets in {accepts_l:.0} l; {needed_l:.0} l are needed")]
    AcceptanceSmall {
        /// What it lets in, in litres.
        accepts_l: f64,
        /// What is needed, in litres.
        needed_l: f64,
    },
    /// A relief valve opens above what its boiler stands.
    #[error("its relief valve opens at {set_kpa:.0} kPa; {most_kpa:.0} kPa is the most that it may")]
    ReliefHigh {
        /// Setting, in kilopascals.
        set_kpa: f64,
        /// Working pressure on the plate, or the end of the standard's range, in kilopascals.
        most_kpa: f64,
    },
    /// A relief valve carries less than its boiler can give.
    #[error("its relief valve is rated {rated_w:.0} W; the boiler can give {needed_w:.0} W")]
    ReliefSmall {
        /// Rated capacity, in watts.
        rated_w: f64,
        /// What the boiler can give, in watts.
        needed_w: f64,
    },
    /// Nobody has said what the relief valve carries.
    #[error("what its relief valve carries is not given; the boiler can give {needed_w:.0} W")]
    ReliefUnknown {
        /// What the boiler can give, in watts.
        needed_w: f64,
    },
    /// A boiler gets less flow than it needs.
    #[error("it gets {flow_kg_s:.2} kg/s where it needs {min_kg_s:.2} kg/s")]
    FlowLow {
        /// Its flow, in kilograms per second.
        flow_kg_s: f64,
        /// What it needs, in kilograms per second.
        min_kg_s: f64,
        /// True where that happens only while the smallest zone calls alone.
        alone: bool,
    },
    /// A boiler gets more flow than it stands.
    #[error("it gets {flow_kg_s:.2} kg/s where it stands {max_kg_s:.2} kg/s")]
    FlowHigh {
        /// Its flow, in kilograms per second.
        flow_kg_s: f64,
        /// What it stands, in kilograms per second.
        max_kg_s: f64,
    },
    /// The water rises far over a boiler.
    #[error(
        "at full fire the water rises by {rise_k:.1} K in it; entering at {entering_c:.1} °C it may leave at {outlet_max_c:.1} °C: {carried_share:.2} of \
         its full fire"
    )]
    RiseLarge {
        /// The rise, in kelvin.
        rise_k: f64,
        /// Largest that it should be, in kelvin.
        most_k: f64,
        /// Coldest water that enters it on the design day, in degrees Celsius.
        entering_c: f64,
        /// Hottest that its water may be, in degrees Celsius.
        outlet_max_c: f64,
        /// Share of its full fire that it can give between the two, 0 to 1.
        carried_share: f64,
    },
    /// The water hardly rises over a boiler.
    #[error("at full fire {flow_kg_s:.2} kg/s rise by no more than {rise_k:.1} K in it")]
    RiseSmall {
        /// The rise, in kelvin.
        rise_k: f64,
        /// Its flow, in kilograms per second.
        flow_kg_s: f64,
    },
    /// Boilers side by side do not share the flow.
    #[error("the boilers' flows are {uneven_share:.2} apart by this layout; by reverse return {reverse_share:.2}")]
    Uneven {
        /// Largest over smallest share of the rated flow, less one, by the layout that is there.
        uneven_share: f64,
        /// The same by reverse return.
        reverse_share: f64,
    },
}

impl WaterIssue {
    /// A code that never changes its meaning and is never used again for another.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::FillLow { .. } => "fill-low",
            Self::NoRoom { .. } => "no-room-below-relief",
            Self::Boils { .. } => "boils-at-top",
            Self::TankSmall { .. } => "expansion-tank-small",
            Self::TankUnsaid { .. } => "expansion-tank-unsaid",
            Self::AcceptanceSmall { .. } => "expansion-acceptance-small",
            Self::PrechargeOff { .. } => "precharge-off",
            Self::ReliefHigh { .. } => "relief-set-high",
            Self::ReliefSmall { .. } => "relief-small",
            Self::ReliefUnknown { .. } => "relief-unknown",
            Self::FlowLow { .. } => "boiler-flow-low",
            Self::FlowHigh { .. } => "boiler-flow-high",
            Self::RiseLarge { .. } => "boiler-rise-large",
            Self::RiseSmall { .. } => "boiler-rise-small",
            Self::Uneven { .. } => "boilers-uneven",
        }
    }
}
