//! What goes over the wire: the shapes of requests and answers, apart from how a book keeps them.
//!
//! Units stand in the names (`_c`, `_s`); ids are UUIDs; times of day are RFC 3339 with an offset.

mod accounts;
mod book;
mod calibrations;
mod determination;
mod events;
mod frames;
mod groups;
mod identity;
mod live;
mod names;
mod of_metrology;
mod past_results;
mod practicals;
mod practice;
mod programmes;
mod readers;
mod reading;
mod recording;
mod report;
mod rereading;
mod sample;
mod sessions;
mod sign_in;
mod sign_off;
mod standards;
mod thermometers;
mod uploads;
mod verdict;

pub(crate) use accounts::{
    AcceptRequest, AccessLog, AccessLogEntry, HowShown, InvitationMade, LoginRequest, Me, MyPerson,
    MySession, MySessions, MyToken, MyTokens, PassphraseRequest, PersonAccount, PersonAccounts,
    TokenMade, TokenRequest, at, ever,
};
pub(crate) use book::{
    Bench, BenchContent, Benches, Book, NewPerson, People, Person, Today, WaitingRecordings,
    WaitingSamples,
};
pub(crate) use calibrations::{
    CalibrationChanges, CalibrationDone, CalibrationInForce, CalibrationRequest, CalibrationTried,
    CalibrationView, ChangedResult, CorrectionPlot, LeftResult, WithdrawRequest,
};
pub(crate) use determination::{
    Determination, DeterminationTried, DetermineRequest, RequiredRequest, RunOfResult,
};
pub(crate) use events::{Change, Work, WorkKind, WorkState};
pub(crate) use frames::{FrameTimes, LogSeries};
pub(crate) use groups::{GroupLocked, GroupRequest, GroupUnlocked, PersonGroup, PersonGroups};
pub(crate) use identity::{
    Candidates, ExpectedOfSubstance, IdentifyRequest, MixedMeltingRequest, Mixture, MixtureRequest,
    OwnList, OwnListRequest, PurityRequest, PurityTold, SolidRequest, Substances,
};
pub(crate) use live::{
    BenchLearning, FaultRequest, KeyedTemperature, LiveBench, LiveBenchList, LiveView,
    MomentRequest, OpenRequest, PlanRequest, Planned, PressRequest, RunBegun, RunRequest,
};
pub(crate) use names::{
    Convention, Kind, Outcome, QualityKind, RecordingState, RemarkKind, Role, RunState,
    SampleOrder, Standing,
};
pub(crate) use past_results::{BroughtIn, PastPreview, PastRow, PastTaken};
pub(crate) use practicals::{
    Board, BoardBench, BoardNext, BoardNow, BoardSeat, Happened, HelpShown, InstructorStep,
    InstructorStepRequest, JoinRequest, Joined, Labels, NewPractical, PracticalRow, PracticalSetUp,
    PracticalState, Practicals, SeatAgreement, SeatLabel, SeatNote, SeatPage, SeatPerson,
    SeatResult, SeatStanding, SeatStep, SeatStepRequest, SeatTruth, Turn, TurnStanding, Unknown,
    UnknownsCompared, UnknownsRequest,
};
pub(crate) use practice::{
    Exercise, Handout, HandoutPicture, PracticeAttemptRequest, PracticeItem, PracticeItems,
    PracticeMarked, PracticeProgress, PracticeReader, PracticeReaders,
};
pub(crate) use programmes::{
    ExpectedRange, KnownRange, PlannedProgramme, PlanningBench, PlanningBenches, ProcedureShown,
    Procedures, ProgrammeRequest, RangeOrigin, leg_times,
};
pub(crate) use readers::{
    AgreementEnd, ComparedEnd, ComparedOf, ComparedReader, ReadEnd, ReaderAgreement,
    ReaderComparison,
};
pub(crate) use reading::{
    DecisionRequest, Moments, NewReading, Quality, Reader, Reading, Remark, Seen, Tube, TubeCurve,
    TubeRef,
};
pub(crate) use recording::{
    LoadedTubeRequest, PicturesState, ReadRequest, RecordingDetail, RecordingRow, Recordings, Run,
};
pub(crate) use report::{Paper, ReportLanguage, Sentences};
pub(crate) use rereading::{
    ChangeCount, LeaveOutRequest, RereadFailure, RereadRequest, RereadTubes, Rereading,
    RereadingDetail, Rereadings,
};
pub(crate) use sample::{
    Agreement, AgreementRun, ImportedSamples, ResultValue, SampleContent, SampleDetail,
    SampleRevision, SampleRow, SampleTube, Samples,
};
pub(crate) use sessions::{
    BenchPicture, KeepRequest, LoadPicture, Relaxations, RetimeRequest, ReworkRequest, Savings,
    SessionContent, SessionDocument, SessionFile, SessionRequest, SessionRow, SessionShown,
    Sessions, Stage, StageKind,
};
pub(crate) use sign_in::{SignInBegun, SignInRequest};
pub(crate) use sign_off::{MaySign, PastResult, SignOff, SignOffRequest, TakeBackRequest};
pub(crate) use standards::{StandardContent, StandardRevision, StandardRow, Standards};
pub(crate) use thermometers::{
    ChartDay, CheckContent, CheckRevision, CheckView, Thermometer, ThermometerOfResult,
    ThermometerRevision, ThermometerRow, ThermometerState, Thermometers, ThermometersToday,
};
pub(crate) use uploads::{ImportRequest, Upload, UploadedVideo};
pub(crate) use verdict::{
    MixedEvidence, MixedTubesJudged, MixedTubesRequest, Verdict, VerdictRequest,
};
