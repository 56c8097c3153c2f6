package plots

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// outside is an environment variable that lets tests without their outside helpers be skipped rather than fail.
const outside = "LINEWITNESS_WITHOUT_OUTSIDE_CHECKS"

// shots is a folder that keeps the pictures taken of the report, for a look by eye.
const shots = "LINEWITNESS_SHOTS"

func browser(t *testing.T) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv(outside) == "1" {
			t.Skip("no chromium")
		}
		t.Fatalf("no chromium (set %s=1 to do without): %v", outside, err)
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-quic", true))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(func() { end(); stop() })
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

type measured struct {
	Wide, Inner int
	Missing     []string
	Figures     []float64 // widths of the drawings
	Heights     []float64
	Cards       []string // their backgrounds
	Small       int      // letters of the page that are too small
	Ground      string
}

const measure = `(() => {
	const out = {Wide: document.documentElement.scrollWidth, Inner: innerWidth, Missing: [], Figures: [], Heights: [], Cards: [], Small: 0,
		Ground: getComputedStyle(document.body).backgroundColor};
	for (const id of %q.split(" ")) {
		const e = document.getElementById(id);
		if (!e || e.getBoundingClientRect().height < 20) out.Missing.push(id);
	}
	for (const s of document.querySelectorAll("svg.line")) {
		const r = s.getBoundingClientRect();
		out.Figures.push(r.width); out.Heights.push(r.height); out.Cards.push(getComputedStyle(s).backgroundColor);
	}
	for (const e of document.querySelectorAll("p, td, th, li, figcaption")) if (parseFloat(getComputedStyle(e).fontSize) < %g) out.Small++;
	return out;
})()`

func TestReportInABrowser(t *testing.T) {
	dir := t.TempDir()
	f := sampleTraffic(true)
	f.Recording.Name = "an-unbroken-name-" + hostile + "-that-goes-on-and-on-without-a-single-blank-and-would-push-a-narrow-page-wide.vcd"
	if err := WriteReport(dir, f, Options{}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(browser(t), time.Minute)
	defer cancel()
	all := ""
	for _, s := range append([]string{"traffic"}, sections...) {
		all += " " + s
	}
	figures := len(f.Excerpts) + len(Charts(f))
	for _, c := range []struct {
		wide          int64
		scheme, media string
	}{{360, "light", ""}, {1100, "light", ""}, {360, "dark", ""}, {1100, "dark", ""}, {688, "light", "print"}} { // 688: A4 within its margins
		name := fmt.Sprintf("%d-%s%s", c.wide, c.scheme, c.media)
		narrowest, smallest := 700.0, 12.0
		if c.media != "" {
			narrowest, smallest = 640, 11
		}
		scheme := &emulation.MediaFeature{Name: "prefers-color-scheme", Value: c.scheme}
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(c.wide, 800),
			chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
				_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
					Media: c.media, Features: []*emulation.MediaFeature{scheme}})
				return err
			}),
			chromedp.Navigate("file://"+filepath.Join(dir, "report.html"))); err != nil {
			t.Fatal(err)
		}
		m, err := chromedp.Run(ctx, chromedp.Evaluate[measured](fmt.Sprintf(measure, all[1:], smallest)))
		if err != nil {
			t.Fatal(err)
		}
		if m.Wide > m.Inner {
			t.Errorf("%s: the page is %d wide in a window of %d", name, m.Wide, m.Inner)
		}
		if len(m.Missing) > 0 {
			t.Errorf("%s: no %v", name, m.Missing)
		}
		if len(m.Figures) != figures {
			t.Errorf("%s: %d figures", name, len(m.Figures))
		}
		for i := range m.Figures {
			if m.Figures[i] < narrowest || m.Heights[i] < 200 || m.Cards[i] != "rgb(255, 255, 255)" {
				t.Errorf("%s: figure %d is %g by %g on %s", name, i, m.Figures[i], m.Heights[i], m.Cards[i])
			}
		}
		if m.Small > 0 {
			t.Errorf("%s: %d pieces of text are too small", name, m.Small)
		}
		if dark := m.Ground == "rgb(20, 23, 27)"; dark != (c.scheme == "dark") {
			t.Errorf("%s: the ground is %s", name, m.Ground)
		}
		if folder := os.Getenv(shots); folder != "" {
			picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
